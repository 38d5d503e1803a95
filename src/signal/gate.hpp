// Cutting the direct sound out of an impulse response.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace proofwalk::signal {

// Where a gate opens and closes, seconds on the scale of the response's first sample.
struct Gate {
    double opens_s = 0.0;   // fully open from here (half a cosine of `lead_s` before it)
    double lead_s = 0.0;
    double closes_s = 0.0;  // zero from here (half a cosine over the last third of the open time before it)
};

// The gated samples, from the gate's first to its last.
[[nodiscard]] std::vector<float> gated(std::span<const float> impulse, double rate_hz, const Gate& gate);

}  // namespace proofwalk::signal
