// The reference of overlapped sweeps, with the first sweep alone in it.
#pragma once

#include <span>
#include <vector>

namespace proofwalk::signal {

// A loopback that carries every sweep of an overlapped take can't serve as a reference as it is. But all sweeps are one signal through
// the same converters: the response of the loopback to `played` around the first sweep holds their gain, latency (to a fraction of a
// sample) and flatness, and `played` through it is what the loopback would have carried had the first sweep sounded alone.
// next_s: from the first start to the second, seconds; the response is kept for half of it, at most a quarter of a second.
// Same length as `reference`; silent when the reference carries nothing of the signal.
[[nodiscard]] std::vector<float> lone_reference(std::span<const float> reference, std::span<const float> played, double rate_hz, double next_s);

}  // namespace proofwalk::signal
