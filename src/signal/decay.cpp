#include "signal/decay.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "signal/fft.hpp"
#include "units/convert.hpp"

namespace proofwalk::signal {

namespace {

struct Line {
    double at_zero = 0.0, slope = 0.0;  // dB, dB per second
};

std::optional<Line> fitted(std::span<const double> level_db, double step_s, std::size_t first, std::size_t last) {
    if (last < first + 3 || last > level_db.size()) return std::nullopt;
    double sum_x = 0.0, sum_y = 0.0, sum_xx = 0.0, sum_xy = 0.0;
    for (std::size_t n = first; n < last; ++n) {
        const double x = static_cast<double>(n) * step_s;
        sum_x += x;
        sum_y += level_db[n];
        sum_xx += x * x;
        sum_xy += x * level_db[n];
    }
    const auto count = static_cast<double>(last - first);
    const double slope = (count * sum_xy - sum_x * sum_y) / (count * sum_xx - sum_x * sum_x);
    if (!(slope < 0.0)) return std::nullopt;
    return Line{(sum_y - slope * sum_x) / count, slope};
}

std::vector<double> block_levels(std::span<const float> response, std::size_t from, std::size_t block) {
    std::vector<double> levels;
    for (std::size_t start = from; start + block <= response.size(); start += block) {
        double sum = 0.0;
        for (std::size_t n = start; n < start + block; ++n) sum += static_cast<double>(response[n]) * static_cast<double>(response[n]);
        levels.push_back(power_db(std::max(sum / static_cast<double>(block), 1e-30)));
    }
    return levels;
}

struct Knee {
    std::size_t sample = 0;       // where the decay meets the noise
    double noise_power = 0.0;
    double tail_power = 0.0;      // of the fitted decay at the knee
    double slope_db_per_s = 0.0;
    bool found = false;           // false: the decay never meets the noise inside the response
};

Knee knee_of(std::span<const float> response, double rate_hz, std::size_t arrival) {
    Knee knee;
    knee.sample = response.size();
    const auto block = static_cast<std::size_t>(std::max(0.015 * rate_hz, 1.0));
    const std::vector<double> levels = block_levels(response, arrival, block);
    if (levels.size() < 12) return knee;
    const double step_s = static_cast<double>(block) / rate_hz;
    double noise = 0.0;
    const std::size_t last_tenth = std::max<std::size_t>(levels.size() / 10, 3);
    for (std::size_t n = levels.size() - last_tenth; n < levels.size(); ++n) noise += power_of_db(levels[n]) / static_cast<double>(last_tenth);
    const auto loudest = static_cast<std::size_t>(std::ranges::max_element(levels) - levels.begin());
    for (int pass = 0; pass < 5; ++pass) {
        const double noise_db = power_db(std::max(noise, 1e-30));
        std::size_t end = loudest + 1;
        while (end < levels.size() && levels[end] > noise_db + 8.0) ++end;
        const auto line = fitted(levels, step_s, loudest, end);
        if (!line) return knee;
        const double crosses = (noise_db - line->at_zero) / line->slope / step_s;
        if (crosses >= static_cast<double>(levels.size()) * 0.95) return knee;
        const auto crossing = static_cast<std::size_t>(std::max(crosses, 1.0));
        const auto begin = std::min(crossing + static_cast<std::size_t>(10.0 / -line->slope / step_s), levels.size() - last_tenth);
        noise = 0.0;
        for (std::size_t n = begin; n < levels.size(); ++n) noise += power_of_db(levels[n]) / static_cast<double>(levels.size() - begin);
        knee.sample = std::min(arrival + crossing * block, response.size());
        knee.noise_power = noise;
        knee.slope_db_per_s = line->slope;
        knee.tail_power = power_of_db(line->at_zero + line->slope * static_cast<double>(crossing) * step_s);
        knee.found = true;
    }
    return knee;
}

}  // namespace

Decay decay_of(std::span<const float> band_response, double rate_hz, std::size_t arrival) {
    Decay decay;
    if (arrival + static_cast<std::size_t>(0.1 * rate_hz) >= band_response.size()) return decay;
    const Knee knee = knee_of(band_response, rate_hz, arrival);

    std::vector<double> energy(knee.sample - arrival + 1, 0.0);
    if (knee.found) {
        // Energy of an exponential decay beyond the knee: power times its time constant, in samples.
        energy.back() = knee.tail_power * 10.0 / std::numbers::ln10 / -knee.slope_db_per_s * rate_hz;
    }
    double peak = 0.0;
    for (std::size_t n = energy.size() - 1; n-- > 0;) {
        const double square = std::pow(static_cast<double>(band_response[arrival + n]), 2);
        peak = std::max(peak, square);
        energy[n] = energy[n + 1] + std::max(square - (knee.found ? knee.noise_power : 0.0), -energy[n + 1] * 0.5);
    }
    if (!(energy.front() > 0.0)) return decay;
    decay.range_db = knee.found ? power_db(peak / std::max(knee.noise_power, 1e-30)) : 90.0;

    const auto within = [&](double seconds) {
        const auto n = std::min(static_cast<std::size_t>(seconds * rate_hz), energy.size() - 1);
        return 1.0 - energy[n] / energy.front();
    };
    const double early50 = within(0.05), early80 = within(0.08);
    decay.d50 = std::clamp(early50, 0.0, 1.0);
    if (early50 > 0.0 && early50 < 1.0) decay.c50_db = power_db(early50 / (1.0 - early50));
    if (early80 > 0.0 && early80 < 1.0) decay.c80_db = power_db(early80 / (1.0 - early80));

    std::vector<double> level(energy.size());
    for (std::size_t n = 0; n < level.size(); ++n) level[n] = power_db(std::max(energy[n] / energy.front(), 1e-12));
    const auto time_over = [&](double from_db, double to_db, double needed_range_db) -> std::optional<double> {
        if (decay.range_db < needed_range_db) return std::nullopt;
        const auto below = [&](double db) { return static_cast<std::size_t>(std::ranges::find_if(level, [db](double l) { return l <= db; }) - level.begin()); };
        const std::size_t first = below(from_db), last = below(to_db);
        if (last >= level.size()) return std::nullopt;
        const auto line = fitted(level, 1.0 / rate_hz, first, last);
        return line ? std::optional(-60.0 / line->slope) : std::nullopt;
    };
    decay.edt_s = time_over(0.0, -10.0, 25.0);
    decay.t20_s = time_over(-5.0, -25.0, 35.0);
    decay.t30_s = time_over(-5.0, -35.0, 45.0);
    return decay;
}

std::vector<float> octave_response(const Evidence& evidence, std::size_t octave) {
    const RealFft fft(fast_size(evidence.impulse.size() + static_cast<std::size_t>(0.2 * evidence.rate_hz)));
    Spectrum spectrum = fft.forward(evidence.impulse);
    const double bin_hz = evidence.rate_hz / static_cast<double>(fft.size());
    const double middle_hz = 1000.0 * std::pow(10.0, 0.3 * (static_cast<double>(octave) - 3.0));
    const double half = std::pow(10.0, 0.15), slope = std::pow(2.0, 1.0 / 24.0);
    const auto edge = [&](double hz, double at_hz) {
        const double x = std::clamp(0.5 + 0.5 * std::log(hz / at_hz) / std::log(slope), 0.0, 1.0);
        return std::sin(0.5 * std::numbers::pi * x);  // neighbouring octaves add up in power
    };
    for (std::size_t bin = 0; bin < spectrum.size(); ++bin) {
        const double hz = std::max(static_cast<double>(bin), 0.5) * bin_hz;
        const double up = edge(hz, middle_hz / half), down = edge(hz, middle_hz * half);
        spectrum[bin] *= static_cast<float>(up * std::sqrt(std::max(0.0, 1.0 - down * down)));
    }
    std::vector<float> response = fft.inverse(spectrum);
    response.resize(evidence.impulse.size());
    return response;
}

std::array<Decay, octave_count> octave_decays(const Evidence& evidence, double arrival_s) {
    std::array<Decay, octave_count> decays;
    const double at = (arrival_s - evidence.first_s) * evidence.rate_hz;
    if (!(at >= 0.0) || at >= static_cast<double>(evidence.impulse.size())) return decays;
    for (std::size_t octave = 0; octave < octave_count; ++octave) {
        if (octave_nominal_hz[octave] * 1.5 > evidence.rate_hz / 2.0) continue;
        decays[octave] = decay_of(octave_response(evidence, octave), evidence.rate_hz, static_cast<std::size_t>(at));
    }
    return decays;
}

}  // namespace proofwalk::signal
