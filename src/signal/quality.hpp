// What is wrong with the samples themselves, before anything is computed from them.
#pragma once

#include <span>

#include "units/flags.hpp"

namespace proofwalk::signal {

[[nodiscard]] float peak_of(std::span<const float> samples);
[[nodiscard]] bool all_finite(std::span<const float> samples);

// Raised from one channel alone: dead_channel, clipped, clipped_before, dropped.
[[nodiscard]] Flags channel_flags(std::span<const float> samples);

}  // namespace proofwalk::signal
