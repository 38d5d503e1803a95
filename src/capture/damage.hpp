// Damage seen in the samples themselves. A device's own flags neither prove nor exclude it.
#pragma once

#include <cstddef>
#include <optional>
#include <span>

namespace proofwalk::capture {

// Every sample is exactly 0 (an empty span too): a channel that carries nothing at all, not even noise.
[[nodiscard]] bool all_zeros(std::span<const float> samples);

// Flat tops at full scale: at least three neighbours with one value of magnitude 0.999 or more. The first one's index.
[[nodiscard]] std::optional<std::size_t> first_clipping(std::span<const float> samples);

struct Gap {
    std::size_t first = 0, length = 0;  // samples
};

// The longest run of exact zeros between samples that are not 0, or from one to the end, of at least `shortest` samples:
// converters and rooms are never that quiet, a lost block or a dead device is. Runs that reach the beginning don't count.
[[nodiscard]] std::optional<Gap> longest_gap(std::span<const float> samples, std::size_t shortest);

}  // namespace proofwalk::capture
