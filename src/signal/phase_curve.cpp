#include "signal/phase_curve.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>

#include "signal/fft.hpp"
#include "signal/gate.hpp"
#include "units/convert.hpp"

namespace proofwalk::signal {
namespace {

constexpr double pi = std::numbers::pi;
constexpr double lead_s = 0.5e-3, before_s = 0.1e-3;  // of the gate, before the arrival
const double unknown_deg = 180.0 / std::sqrt(3.0);    // standard deviation of an angle that may be any

// A piece of sound as lines, and where the arrival stands in it.
struct Lines {
    Spectrum spectrum;
    double bin_hz = 0.0;
    double arrival_s = 0.0;  // after the first sample transformed
    double length_s = 0.0;   // of the sound transformed
};

Lines lines_of(std::span<const float> samples, double rate_hz, double arrival_s, std::size_t least) {
    const RealFft fft(fast_size(std::max(samples.size(), least)));
    return {fft.forward(samples), rate_hz / static_cast<double>(fft.size()), arrival_s, static_cast<double>(samples.size()) / rate_hz};
}

// The mean of the response between two frequencies with the delay taken out; at least the nearest line.
std::complex<double> mean_response(const Lines& lines, double low_hz, double high_hz) {
    const auto last_line = lines.spectrum.size() - 1;
    auto first = static_cast<std::size_t>(std::ceil(low_hz / lines.bin_hz));
    auto last = std::min(static_cast<std::size_t>(high_hz / lines.bin_hz), last_line);
    if (first > last) first = last = std::min(static_cast<std::size_t>(std::lround(std::sqrt(low_hz * high_hz) / lines.bin_hz)), last_line);
    std::complex<double> sum;
    for (std::size_t line = first; line <= last; ++line)
        sum += std::complex<double>(lines.spectrum[line]) * std::polar(1.0, 2.0 * pi * static_cast<double>(line) * lines.bin_hz * lines.arrival_s);
    return sum / static_cast<double>(last - first + 1);
}

double uncertainty_deg(double signal_db, double noise_db, double independent) {
    if (!std::isfinite(signal_db) || !std::isfinite(noise_db)) return unknown_deg;
    const double ratio = std::pow(10.0, 0.1 * (signal_db - noise_db));
    const double u = 180.0 / pi / std::sqrt(2.0 * ratio * std::max(independent, 1.0));
    return std::isfinite(u) ? std::min(u, unknown_deg) : unknown_deg;
}

}  // namespace

PhaseCurve phase_curve(const Evidence& evidence, const Reading& reading, double fraction_of_octave) {
    PhaseCurve curve;
    if (!reading.arrival_s || evidence.impulse.empty() || !(fraction_of_octave >= 1.0)) return curve;
    const double rate_hz = evidence.rate_hz;
    const double arrival_s = reading.arrival_s->value + evidence.latency_s - evidence.first_s;
    const Gate gate{arrival_s - before_s, lead_s, arrival_s + std::max(reading.gate_s, 1e-3)};
    const std::vector<float> cut = gated(evidence.impulse, rate_hz, gate);
    const double cut_from_s = std::max(0.0, std::ceil((gate.opens_s - gate.lead_s) * rate_hz)) / rate_hz;
    const Lines direct = lines_of(cut, rate_hz, arrival_s - cut_from_s, 16384);
    const Lines full = lines_of(evidence.impulse, rate_hz, arrival_s, 0);

    const double half_width = std::pow(10.0, 0.15 / fraction_of_octave);  // base-ten fractions of an octave
    const double points_per_decade = 2.0 * fraction_of_octave / 0.3;
    const double highest_hz = std::min(20000.0, rate_hz / 2.0 / half_width);
    for (int point = 0;; ++point) {
        const double hz = 20.0 * std::pow(10.0, point / points_per_decade);
        if (hz > highest_hz) break;
        const bool resolved = hz >= reading.gate_resolves_from_hz;
        const Lines& lines = resolved ? direct : full;
        const std::complex<double> mean = mean_response(lines, hz / half_width, hz * half_width);
        if (!(std::norm(mean) > 0.0)) continue;
        double deg = std::arg(mean) * 180.0 / pi;
        if (deg <= -180.0) deg = 180.0;
        const auto band = static_cast<std::size_t>(std::clamp(std::lround(10.0 * std::log10(hz / 1000.0)) + 17, 0L, static_cast<long>(band_count) - 1));
        const double wide_hz = hz * (half_width - 1.0 / half_width);
        curve.hz.push_back(hz);
        curve.deg.push_back(deg);
        curve.u_deg.push_back(evidence.noise_impulse_db.has(band)
                                  ? uncertainty_deg(power_db(std::norm(mean)), evidence.noise_impulse_db[band] + power_db(lines.length_s), wide_hz * lines.length_s)
                                  : unknown_deg);
    }
    return curve;
}

}  // namespace proofwalk::signal
