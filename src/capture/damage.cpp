#include "capture/damage.hpp"

#include <algorithm>
#include <cmath>

namespace proofwalk::capture {

bool all_zeros(std::span<const float> samples) {
    return std::all_of(samples.begin(), samples.end(), [](float sample) { return sample == 0.0f; });
}

std::optional<std::size_t> first_clipping(std::span<const float> samples) {
    constexpr float full_scale = 0.999f;
    constexpr std::size_t neighbours = 3;
    std::size_t equal = 1;
    for (std::size_t n = 1; n < samples.size(); ++n) {
        equal = samples[n] == samples[n - 1] && std::fabs(samples[n]) >= full_scale ? equal + 1 : 1;
        if (equal == neighbours) return n + 1 - neighbours;
    }
    return std::nullopt;
}

std::optional<Gap> longest_gap(std::span<const float> samples, std::size_t shortest) {
    std::optional<Gap> longest;
    const auto first_sound = std::find_if(samples.begin(), samples.end(), [](float sample) { return sample != 0.0f; });
    auto n = static_cast<std::size_t>(first_sound - samples.begin());
    while (n < samples.size()) {
        if (samples[n] != 0.0f) {
            ++n;
            continue;
        }
        std::size_t end = n;
        while (end < samples.size() && samples[end] == 0.0f) ++end;
        const std::size_t length = end - n;
        if (length >= shortest && (!longest || length > longest->length)) longest = Gap{n, length};
        n = end;
    }
    return longest;
}

}  // namespace proofwalk::capture
