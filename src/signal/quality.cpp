#include "signal/quality.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace proofwalk::signal {

namespace {

constexpr float full_scale = 0.9995F;   // 32767/32768 and above
constexpr std::size_t flat_run = 3;     // samples in a row at the top
constexpr std::size_t flat_runs = 3;    // such runs before a channel counts as clipped

// Runs of at least flat_run samples at the same sign whose height is within `slack` of `top`.
std::size_t runs_at(std::span<const float> samples, float top, float slack) {
    std::size_t runs = 0, length = 0;
    bool positive = false;
    for (float sample : samples) {
        const bool at_top = std::abs(sample) >= top - slack;
        if (at_top && (length == 0 || positive == (sample > 0.0F))) {
            positive = sample > 0.0F;
            if (++length == flat_run) ++runs;
        } else {
            length = at_top ? 1 : 0;
            positive = sample > 0.0F;
        }
    }
    return runs;
}

// A block of exact zeros between samples that are not: at least 32 in a row, where the channel is otherwise busy.
bool has_lost_block(std::span<const float> samples) {
    constexpr std::size_t zeros_in_a_row = 32;
    std::size_t zeros = 0, all_zeros = 0, begin = 0, end = samples.size();
    while (begin < end && samples[begin] == 0.0F) ++begin;
    while (end > begin && samples[end - 1] == 0.0F) --end;
    for (std::size_t n = begin; n < end; ++n) all_zeros += samples[n] == 0.0F ? 1 : 0;
    if (10 * all_zeros > end - begin) return false;  // a coarse or gated channel: zeros mean nothing there
    for (std::size_t n = begin; n < end; ++n) {
        zeros = samples[n] == 0.0F ? zeros + 1 : 0;
        if (zeros >= zeros_in_a_row) return true;
    }
    return false;
}

}  // namespace

Flags channel_flags(std::span<const float> samples, double) {
    Flags flags;
    float peak = 0.0F;
    for (float sample : samples) peak = std::max(peak, std::abs(sample));
    if (peak == 0.0F) {
        flags.raise(Flag::dead_channel);
        return flags;
    }
    if (peak >= full_scale && runs_at(samples, full_scale, 0.0F) >= flat_runs) flags.raise(Flag::clipped);
    if (has_lost_block(samples)) flags.raise(Flag::dropped);
    return flags;
}

}  // namespace proofwalk::signal
