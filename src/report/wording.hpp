// Figures of records in words that several views share.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "report/figures.hpp"
#include "verify/judge.hpp"

namespace proofwalk::report {

// "-4.1 +-1.2 deg" of a check, in its unit; the dash where there is none.
[[nodiscard]] std::string value_of(const verify::CheckResult& check);
// "+-2.0 deg" or the target ("+1") of a polarity check; empty where nothing limits it.
[[nodiscard]] std::string limit_of(const verify::CheckResult& check);
// Real minus and degree signs in a sentence that was written with "-" and "deg".
[[nodiscard]] std::string with_real_signs(std::string_view text);
// The same with its first letter in upper case, as a sentence starts.
[[nodiscard]] std::string sentence_case(std::string_view text);
[[nodiscard]] std::string joined(const std::vector<std::string>& words, std::string_view between = ", ");
// "1 box", "12 boxes"
[[nodiscard]] std::string counted(std::size_t count, std::string_view one, std::string_view several);
// Checks that say the same and ask for the same stand together, in the order of the first of each.
using CheckGroup = std::vector<const verify::CheckResult*>;
[[nodiscard]] std::vector<CheckGroup> grouped_alike(const std::vector<const verify::CheckResult*>& checks);
// The first eight digits of a hash, as people compare them.
[[nodiscard]] std::string short_hash(const std::string& sha256);
// Figures padded so that their decimal points stand below one another.
[[nodiscard]] std::vector<std::string> aligned_on_point(std::vector<std::string> figures);
// A fitted figure with its standard uncertainty: "-7.6 +-0.8", or the dash where geometry does not determine it.
[[nodiscard]] std::string fitted(std::optional<double> value, std::optional<double> u, std::string_view unit,
                                 Sign sign = Sign::when_negative);

}  // namespace proofwalk::report
