// What several views of the readings share.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "report/report.hpp"

namespace proofwalk::report {

// Arrival of each row after the earliest arrival of its take, in seconds; absent where nothing arrived.
// Rows of one take follow one another; a circuit and mic that come again begin another take of the same label.
[[nodiscard]] std::vector<std::optional<double>> arrivals_within_takes_s(const std::vector<ReadingRow>& rows);
[[nodiscard]] std::string flag_words(Flags flags, std::string_view between);
[[nodiscard]] std::string_view level_reference(const signal::Reading& reading);

}  // namespace proofwalk::report
