// Taking one early reflection (the floor's) off a response when it follows the direct sound too closely for a gate.
//
// Model: h(t) = d(t) + (c * d)(t - tau), c a few taps long. The taps are found by least squares over the moment when the
// reflection's front arrives, the direct sound is then d(n) = h(n) - sum_k c(k) d(n - tau - k), sample by sample.
#pragma once

#include <span>
#include <vector>

namespace proofwalk::signal {

struct WithoutBounce {
    std::vector<float> direct;  // as long as what was given
    double left = 1.0;          // energy left over of the energy explained at the reflection's front, 0..1: small is good
};

// response: from at least 0.5 ms before the arrival on; arrival and delay in samples; band_response: the same samples
// with the low frequencies taken off, in which the taps are found.
[[nodiscard]] WithoutBounce without_bounce(std::span<const float> response, std::span<const float> band_response, double arrival, double delay,
                                           double rate_hz);

}  // namespace proofwalk::signal
