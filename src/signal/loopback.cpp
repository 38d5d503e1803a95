#include "signal/loopback.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>

#include "signal/fft.hpp"
#include "signal/third_octave.hpp"
#include "units/convert.hpp"

namespace proofwalk::signal {

namespace {

constexpr double half_window_s = 0.02;  // around the peak: a converter's response is far shorter
constexpr double pi = std::numbers::pi;

struct Line {
    double hz, phase_rad, weight;
};

// Noise energy per second of response from the end of the response, where the ringing of the signal's own band edges has died away; a
// chain is so quiet that this ringing, not noise, stands before and shortly after its peak. Nothing when the response is too short.
std::optional<BandLevels> late_noise(const Evidence& evidence, std::ptrdiff_t peak) {
    const double after_s = static_cast<double>(static_cast<std::ptrdiff_t>(evidence.impulse.size()) - peak) / evidence.rate_hz;
    if (after_s < 0.9) return std::nullopt;
    const auto count = static_cast<std::size_t>(0.4 * evidence.rate_hz);
    const auto piece = std::span(evidence.impulse).last(count);
    std::vector<float> windowed(count);
    for (std::size_t n = 0; n < count; ++n)
        windowed[n] = piece[n] * static_cast<float>(0.5 - 0.5 * std::cos(2.0 * pi * static_cast<double>(n) / static_cast<double>(count)));
    const RealFft fft(fast_size(2 * count));
    BandLevels noise = mean_levels(fft.forward(windowed), evidence.rate_hz / static_cast<double>(fft.size()));
    constexpr double hann_power = 0.375;
    for (std::size_t band = 0; band < band_count; ++band)
        if (noise.has(band)) noise[band] -= power_db(hann_power * static_cast<double>(count) / evidence.rate_hz);
    return noise;
}

}  // namespace

std::optional<ChainFigures> chain_figures(const Evidence& evidence, double low_hz, double high_hz) {
    if (evidence.impulse.empty() || !(high_hz > low_hz)) return std::nullopt;
    const auto strongest = std::ranges::max_element(evidence.impulse, {}, [](float s) { return std::abs(s); });
    if (!(std::abs(*strongest) > 0.0F)) return std::nullopt;
    const auto peak = static_cast<std::ptrdiff_t>(strongest - evidence.impulse.begin());
    const auto half = static_cast<std::ptrdiff_t>(half_window_s * evidence.rate_hz);

    // The peak stands at sample 0 of the transform, what comes before it at its end.
    const RealFft fft(fast_size(static_cast<std::size_t>(8 * half)));
    std::vector<float> around(fft.size(), 0.0F);
    for (std::ptrdiff_t n = -half; n <= half; ++n) {
        const std::ptrdiff_t at = peak + n;
        if (at < 0 || at >= static_cast<std::ptrdiff_t>(evidence.impulse.size())) continue;
        const double window = 0.5 + 0.5 * std::cos(pi * static_cast<double>(n) / static_cast<double>(half));
        const auto to = static_cast<std::size_t>(n >= 0 ? n : n + static_cast<std::ptrdiff_t>(fft.size()));
        around[to] = static_cast<float>(window * static_cast<double>(evidence.impulse[static_cast<std::size_t>(at)]));
    }
    const Spectrum spectrum = fft.forward(around);
    const double bin_hz = evidence.rate_hz / static_cast<double>(fft.size());

    ChainFigures figures;
    figures.flags = evidence.flags;
    figures.distortion2_pct = evidence.distortion2_pct;
    figures.distortion3_pct = evidence.distortion3_pct;

    const BandLevels levels = mean_levels(spectrum, bin_hz);
    const auto [first, last] = bands_inside(low_hz, high_hz);
    std::vector<double> present;
    const auto late = late_noise(evidence, peak);
    double signal = 0.0, noise = 0.0;
    for (std::size_t band = first; band < last; ++band) {
        // Bands that lie wholly inside the range and that the window resolves.
        if (!levels.has(band) || lower_edge_hz(band) < std::max(low_hz, 1.0 / half_window_s) || upper_edge_hz(band) > high_hz) continue;
        present.push_back(levels[band]);
        signal += power_of_db(levels[band]);
        if (!evidence.noise_db.has(band)) continue;
        const bool quieter_later = late && late->has(band) && evidence.noise_impulse_db.has(band) && (*late)[band] < evidence.noise_impulse_db[band];
        noise += power_of_db(evidence.noise_db[band] + (quieter_later ? (*late)[band] - evidence.noise_impulse_db[band] : 0.0));
    }
    if (present.size() < 3) return std::nullopt;
    std::ranges::sort(present);
    figures.gain_db = 0.5 * (present[(present.size() - 1) / 2] + present[present.size() / 2]);
    figures.flatness_db = std::max(present.back() - figures.gain_db, figures.gain_db - present.front());
    figures.signal_to_noise_db = noise > 0.0 ? power_db(signal / noise) : 120.0;
    if (figures.signal_to_noise_db < 6.0) return std::nullopt;
    figures.polarity = *strongest > 0.0F ? 1 : -1;

    // Straight line through the phase over the middle of the range: its slope is the latency beyond the peak sample.
    std::vector<Line> lines;
    const double from_hz = std::max(low_hz * 2.0, 4.0 / half_window_s), to_hz = high_hz * 0.9;
    double unwrapped = 0.0;
    for (auto bin = static_cast<std::size_t>(from_hz / bin_hz); bin < spectrum.size() && static_cast<double>(bin) * bin_hz <= to_hz; ++bin) {
        const std::complex<double> value = std::complex<double>(spectrum[bin]) * static_cast<double>(figures.polarity);
        double phase = std::arg(value);
        phase -= 2.0 * pi * std::round((phase - unwrapped) / (2.0 * pi));
        unwrapped = phase;
        lines.push_back({static_cast<double>(bin) * bin_hz, phase, std::norm(value)});
    }
    if (lines.size() < 8) return std::nullopt;
    double sum_ff = 0.0, sum_fp = 0.0;
    for (const Line& line : lines) {
        sum_ff += line.weight * line.hz * line.hz;
        sum_fp += line.weight * line.hz * line.phase_rad;
    }
    const double slope = sum_ff > 0.0 ? sum_fp / sum_ff : 0.0;
    double weighted_square = 0.0;
    for (const Line& line : lines) {
        const double left_rad = line.phase_rad - slope * line.hz;
        figures.flatness_deg = std::max(figures.flatness_deg, degrees(std::abs(left_rad)));
        weighted_square += line.weight * left_rad * left_rad * line.hz * line.hz;
    }
    figures.latency_s.value = evidence.first_s + static_cast<double>(peak) / evidence.rate_hz - slope / (2.0 * pi);
    figures.latency_s.u = std::max(std::sqrt(weighted_square) / sum_ff * std::sqrt(sum_ff / static_cast<double>(lines.size())), 1e-9) / (2.0 * pi);
    return figures;
}

std::optional<LatencySpread> latency_spread(std::span<const ChainFigures> takes) {
    if (takes.size() < 2) return std::nullopt;
    LatencySpread spread;
    spread.takes = static_cast<int>(takes.size());
    double least = takes.front().latency_s.value, most = least;
    for (const ChainFigures& take : takes) {
        spread.mean_s += take.latency_s.value / spread.takes;
        least = std::min(least, take.latency_s.value);
        most = std::max(most, take.latency_s.value);
    }
    double squares = 0.0;
    for (const ChainFigures& take : takes) squares += std::pow(take.latency_s.value - spread.mean_s, 2);
    spread.deviation_s = std::sqrt(squares / (spread.takes - 1));
    spread.range_s = most - least;
    return spread;
}

}  // namespace proofwalk::signal
