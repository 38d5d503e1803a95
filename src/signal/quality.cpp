#include "signal/quality.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <cstddef>
#include <cstdint>

namespace proofwalk::signal {

namespace {

constexpr float full_scale = 0.9995F;   // 32767/32768 and above
constexpr std::size_t flat_run = 3;     // samples in a row at the top
constexpr std::size_t flat_runs = 3;    // such runs before a channel counts as clipped

// Counted in 32 bits, so that the loop fills vectors.
template <class Condition>
std::size_t how_many(std::span<const float> samples, Condition condition) {
    std::uint32_t count = 0;
    for (const float sample : samples) count += condition(sample) ? 1u : 0u;
    return count;
}

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
    std::size_t zeros = 0, begin = 0, end = samples.size();
    while (begin < end && samples[begin] == 0.0F) ++begin;
    while (end > begin && samples[end - 1] == 0.0F) --end;
    const std::size_t all_zeros = how_many(samples.subspan(begin, end - begin), [](float sample) { return sample == 0.0F; });
    if (all_zeros < zeros_in_a_row) return false;
    if (10 * all_zeros > end - begin) return false;  // a coarse or gated channel: zeros mean nothing there
    for (std::size_t n = begin; n < end; ++n) {
        zeros = samples[n] == 0.0F ? zeros + 1 : 0;
        if (zeros >= zeros_in_a_row) return true;
    }
    return false;
}

// A block that stands there twice in a row to the bit, as a buffer that was handed over again: 64 to 4096 samples.
// Noise makes that impossible by chance.
bool has_repeated_block(std::span<const float> samples) {
    constexpr std::size_t shortest = 64, longest = 4096;
    for (std::size_t block = shortest; block <= longest; block *= 2) {
        // A run of `block` equal samples covers a multiple of the shortest block: only those are looked at first.
        for (std::size_t probe = (block + shortest - 1) / shortest * shortest; probe < samples.size(); probe += shortest) {
            const auto same = [&](std::size_t n) { return samples[n] == samples[n - block] && samples[n] != 0.0F; };
            if (!same(probe)) continue;
            std::size_t first = probe, last = probe + 1;
            while (first > block && same(first - 1)) --first;
            while (last < samples.size() && same(last)) ++last;
            if (last - first >= block) return true;
        }
    }
    return false;
}

// Flat tops below full scale: many swings end at one and the same height and stay there longer than a sine of their
// period would.
bool has_flat_tops(std::span<const float> samples, float peak) {
    constexpr std::size_t fewest_tops = 12;
    constexpr float near = 0.996F;            // of the peak
    constexpr double sine_share = 0.0285;     // of a period that a sine spends above that, per swing: acos(0.996) / pi
    constexpr double flat_factor = 3.0;
    constexpr std::size_t fewest_high = 3;    // samples of a top that is flat
    const auto is_high = [top = near * peak](float sample) { return std::abs(sample) >= top; };
    // Of most channels only a few samples in all come near the peak.
    if (how_many(samples, is_high) < fewest_tops * fewest_high) return false;
    std::size_t last_crossing = 0, tops = 0, flat = 0, high = 0, since = 0;
    for (std::size_t n = 1; n < samples.size(); ++n) {
        ++since;
        if (is_high(samples[n])) ++high;
        if (std::signbit(samples[n]) == std::signbit(samples[n - 1])) continue;
        // A half swing ends here; short ones (above about 2 kHz) have too few samples to judge.
        if (last_crossing > 0 && since >= 12 && high > 0) {
            ++tops;
            if (high >= fewest_high && static_cast<double>(high) > flat_factor * sine_share * 2.0 * static_cast<double>(since)) ++flat;
        }
        last_crossing = n;
        since = 0;
        high = 0;
    }
    return flat >= fewest_tops && 2 * flat > tops;
}

}  // namespace

float peak_of(std::span<const float> samples) {
    constexpr std::size_t lanes = 16;  // running maxima side by side, which fill vectors
    std::array<float, lanes> peaks{};
    const std::size_t whole = samples.size() / lanes * lanes;
    for (std::size_t n = 0; n < whole; n += lanes)
        for (std::size_t lane = 0; lane < lanes; ++lane) {
            const float height = std::abs(samples[n + lane]);
            peaks[lane] = height > peaks[lane] ? height : peaks[lane];
        }
    for (const float sample : samples.subspan(whole)) peaks[0] = std::max(peaks[0], std::abs(sample));
    return *std::ranges::max_element(peaks);
}

bool all_finite(std::span<const float> samples) {
    constexpr std::uint32_t exponent = 0x7f800000u;  // all its bits set: infinite or no number
    return how_many(samples, [](float sample) { return (std::bit_cast<std::uint32_t>(sample) & exponent) == exponent; }) == 0;
}

Flags channel_flags(std::span<const float> samples) {
    Flags flags;
    const float peak = peak_of(samples);
    if (peak == 0.0F) {
        flags.raise(Flag::dead_channel);
        return flags;
    }
    if (peak >= full_scale && runs_at(samples, full_scale, 0.0F) >= flat_runs) flags.raise(Flag::clipped);
    else if (has_flat_tops(samples, peak)) flags.raise(Flag::clipped_before);
    if (has_lost_block(samples) || has_repeated_block(samples)) flags.raise(Flag::dropped);
    return flags;
}

}  // namespace proofwalk::signal
