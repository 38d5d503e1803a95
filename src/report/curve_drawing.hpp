// Curves of a box: magnitude against the plan on a log frequency axis, impulse response on a dB scale.
#pragma once

#include <string>

#include "report/report.hpp"

namespace proofwalk::report {

// Empty when there is nothing to draw.
[[nodiscard]] std::string magnitude_svg(const BoxCurves& curves);
[[nodiscard]] std::string impulse_svg(const BoxCurves& curves);

}  // namespace proofwalk::report
