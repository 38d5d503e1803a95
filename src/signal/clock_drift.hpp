// The mics' clock against the reference's, from the take itself: two devices recorded them.
//
// Noise: the same response is heard all the time; how its delay moves from part to part of the take is the drift.
//
// A sweep plays each frequency once: a drift d shears the response, frequency f comes later by d L (1 + ln(f / f1)),
// L = length / ln(stop / start). A box does something alike with its crossover, so the two are told apart by three marks:
//   1. with the box's minimum phase (from its magnitude) and the all-pass of its crossover (fourth-order Linkwitz-Riley
//      halves, its frequency free) taken out, the right shear gives the sharpest peaks, direct sound and reflections alike;
//   2. the right shear leaves the peak's phase at 0 or 180 degrees;
//   3. most recordings are made by one device: without evidence there is no drift.
// The second mark comes back every 1 / (2 L f), some 80 ppm for a 4 s sweep, with the other polarity each time. On invented
// rooms (4 s sweeps, 20 dB, one mic): standard deviation 18 ppm by the first mark, 5 ppm by both; both shrink as 1 / L, the first
// with more mics too. So a figure near a multiple of 80 ppm is often left unsettled, and drifts below about 40 ppm are not seen.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "signal/deconvolve.hpp"

namespace proofwalk::signal {

struct ClockDrift {
    double ppm = 0.0;      // positive: the mics' clock runs fast and their recording is stretched
    double u_ppm = 0.0;
    bool settled = true;   // false: another figure explains the take nearly as well, with the other polarity
};

// What the sweep covers.
struct SweptBand {
    double low_hz = 20.0, high_hz = 20000.0;
};

// responses: deconvolved by the sweep, one a mic, sample 0 at the moment it left the tool; time_constant_s: the sweep's L.
// Nothing when there is no drift that the take shows, or when no response carries
// 1.5 to 13 kHz, where it is looked for (the sweep 1 to 15 kHz).
[[nodiscard]] std::optional<ClockDrift> drift_of_sweep(std::span<const std::span<const float>> responses, double rate_hz, double time_constant_s,
                                                       const SweptBand& swept);

// Within +-300 ppm. Nothing when it is less than four standard uncertainties or 1 ppm, or when the delay can't be followed.
[[nodiscard]] std::optional<ClockDrift> drift_of_noise(const Excitation& excitation, std::span<const float> reference, std::span<const float> mic);

}  // namespace proofwalk::signal
