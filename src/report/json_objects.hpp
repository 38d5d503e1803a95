// Objects that stand in several documents.
#pragma once

#include <vector>

#include "report/json.hpp"
#include "report/report.hpp"

namespace proofwalk::report {

[[nodiscard]] Json check_object(const verify::CheckResult& check);               // one entry of its checks
[[nodiscard]] Json tally_object(const verify::Tally& tally);                    // proofwalk.tally/1
[[nodiscard]] Json readings_object(const std::vector<ReadingRow>& rows);        // proofwalk.readings/1

// An array of {after_ms, level_db, surface}; surfaces as in ReadingRow.
[[nodiscard]] Json reflections_object(const std::vector<signal::Reflection>& reflections, const std::vector<std::string>& surfaces);

}  // namespace proofwalk::report
