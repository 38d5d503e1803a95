#include "signal/third_octave.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>

#include "units/convert.hpp"

namespace proofwalk::signal {

namespace {

constexpr double nothing = std::numeric_limits<double>::quiet_NaN();
constexpr double least_power = 1e-30;  // keeps the logarithm of silence finite

struct Sums {
    double weighted = 0.0;  // sum of share * power / frequency
    double weights = 0.0;   // sum of share / frequency
    double plain = 0.0;     // sum of share * power
};

template <class PowerOfLine>
Sums sum_over(PowerOfLine power, std::size_t lines, double bin_hz, double low_hz, double high_hz) {
    Sums sums;
    const auto first = static_cast<std::size_t>(std::max(1.0, std::floor(low_hz / bin_hz + 0.5)));
    for (std::size_t line = first; line < lines; ++line) {
        const double left_hz = (static_cast<double>(line) - 0.5) * bin_hz;
        if (left_hz >= high_hz) break;
        const double share = (std::min(left_hz + bin_hz, high_hz) - std::max(left_hz, low_hz)) / bin_hz;
        if (share <= 0.0) continue;
        const double value = power(line);
        sums.plain += share * value;
        const double weight = share / static_cast<double>(line);
        sums.weighted += weight * value;
        sums.weights += weight;
    }
    return sums;
}

bool inside(std::size_t lines, double bin_hz, double high_hz) {
    return high_hz <= static_cast<double>(lines - 1) * bin_hz;
}

template <class PowerOfLine>
BandLevels means(PowerOfLine power, std::size_t lines, double bin_hz) {
    BandLevels levels;
    for (std::size_t band = 0; band < band_count; ++band) {
        if (!inside(lines, bin_hz, upper_edge_hz(band))) continue;
        const Sums sums = sum_over(power, lines, bin_hz, lower_edge_hz(band), upper_edge_hz(band));
        if (sums.weights > 0.0) levels[band] = power_db(std::max(sums.weighted / sums.weights, least_power));
    }
    return levels;
}

}  // namespace

BandLevels mean_levels(std::span<const std::complex<float>> spectrum, double bin_hz) {
    return means([&](std::size_t line) { return static_cast<double>(std::norm(spectrum[line])); }, spectrum.size(), bin_hz);
}

BandLevels mean_levels(std::span<const double> power, double bin_hz) {
    return means([&](std::size_t line) { return power[line]; }, power.size(), bin_hz);
}

double mean_power(std::span<const std::complex<float>> spectrum, double bin_hz, double low_hz, double high_hz) {
    if (!inside(spectrum.size(), bin_hz, high_hz)) return nothing;
    const Sums sums = sum_over([&](std::size_t line) { return static_cast<double>(std::norm(spectrum[line])); },
                               spectrum.size(), bin_hz, low_hz, high_hz);
    return sums.weights > 0.0 ? sums.weighted / sums.weights : nothing;
}

BandLevels sum_levels(std::span<const double> power, double bin_hz) {
    BandLevels levels;
    for (std::size_t band = 0; band < band_count; ++band) {
        if (!inside(power.size(), bin_hz, upper_edge_hz(band))) continue;
        const Sums sums = sum_over([&](std::size_t line) { return power[line]; }, power.size(), bin_hz,
                                   lower_edge_hz(band), upper_edge_hz(band));
        levels[band] = power_db(std::max(sums.plain, least_power));
    }
    return levels;
}

}  // namespace proofwalk::signal
