// What the newest match take says of each mic, taken off every reading of that mic.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "log/log.hpp"
#include "plan/plan.hpp"
#include "signal/mic_match.hpp"

namespace proofwalk::walk {

using MicMatch = std::map<std::string, signal::MicDeviation>;

// Usable mics of the newest match take; empty when there is none.
[[nodiscard]] MicMatch mic_match(const plan::Plan& plan, const std::vector<log::TakeRecord>& takes);
[[nodiscard]] signal::Reading matched(const MicMatch& match, const plan::Plan& plan, const log::EvidenceRecord& heard);

}  // namespace proofwalk::walk
