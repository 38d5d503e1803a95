// Repeated takes of one signal averaged, with a repeat left out that a burst hit.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "units/fault.hpp"

namespace proofwalk::signal {

struct RejectedRepeat {
    std::size_t repeat = 0;   // from 0
    double at_s = 0.0;        // where in it the burst stands
    double above_db = 0.0;    // over what the repeats differ by otherwise
    std::string why;          // a sentence for people, repeats counted from 1
};

struct AveragedRepeats {
    std::vector<float> mean;
    std::vector<std::size_t> used;
    std::vector<RejectedRepeat> rejected;
};

// repeats: the same signal recorded again by the same clock, aligned to the sample, of equal length; at least one.
// A repeat is left out when a 10 ms block of its difference from the median repeat stands 12 dB above what such blocks
// have elsewhere. With two repeats the louder block is the one that was hit. At least one repeat is always kept.
[[nodiscard]] Result<AveragedRepeats> averaged_repeats(std::span<const std::span<const float>> repeats, double rate_hz);

}  // namespace proofwalk::signal
