// The proof of the measuring chain, for people and for programs.
#pragma once

#include <string>
#include <vector>

#include "report/report.hpp"
#include "verify/gear.hpp"

namespace proofwalk::report {

[[nodiscard]] std::string gear_json(const std::vector<verify::GearCheck>& checks);  // "proofwalk.gear/1"
[[nodiscard]] std::string gear_text(const std::vector<verify::GearCheck>& checks, const TextStyle& style);

}  // namespace proofwalk::report
