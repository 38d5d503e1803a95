// Numbers and directions as a crew says them. Sentences have no full stop.
#pragma once

#include <string>
#include <vector>

namespace proofwalk::verify {

[[nodiscard]] std::string degrees_text(double deg);  // "4.1 deg", no sign
[[nodiscard]] std::string level_text(double db);     // "2.3 dB", no sign
[[nodiscard]] std::string time_text(double ms);      // "6.1 ms", no sign
[[nodiscard]] std::string length_text(double m);     // "0.45 m", no sign
// "6.10 ms (293 samples at 48 kHz, 2.10 m)", rounded to whole samples.
[[nodiscard]] std::string delay_text(double ms, double speed_m_s);
// The house side towards which a box that faces pan_deg turns when it turns to its own left (or right).
[[nodiscard]] std::string house_side(double pan_deg, bool to_own_left);
// Why a figure that only what was assumed beforehand made narrow is no pass.
[[nodiscard]] std::string unearned_text(double uncertainty, const std::string& unit);
[[nodiscard]] std::string listed(const std::vector<std::string>& names);  // "A, B and C"

}  // namespace proofwalk::verify
