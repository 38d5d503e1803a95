#include "signal/excess_phase.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <numbers>
#include <vector>

#include "signal/fft.hpp"

namespace proofwalk::signal {

namespace {

constexpr double pi = std::numbers::pi;
constexpr double phase_u_rad = 0.12;               // of one independent frequency, from ripple and what the model leaves out
constexpr double usual_all_pass_hz = 4000.0;       // prior of a / (rad): crossovers of 1 to 2 kHz
constexpr double usual_all_pass_u_hz = 2500.0;

// Natural logarithm of the magnitude, carried on above the band by the slope over its last half octave.
std::vector<double> log_magnitude(const Spectrum& spectrum, double bin_hz, const PhaseBand& band) {
    std::vector<double> log_of(spectrum.size());
    double largest = 0.0;
    for (const auto& line : spectrum) largest = std::max(largest, static_cast<double>(std::abs(line)));
    const double least = std::max(largest * 1e-4, 1e-20);
    for (std::size_t bin = 0; bin < spectrum.size(); ++bin) log_of[bin] = std::log(std::max(static_cast<double>(std::abs(spectrum[bin])), least));
    const auto top = std::min(static_cast<std::size_t>(band.high_hz / bin_hz), spectrum.size() - 1);
    const auto before = static_cast<std::size_t>(band.high_hz / std::numbers::sqrt2 / bin_hz);
    if (top <= before + 2) return log_of;
    double sum_x = 0.0, sum_y = 0.0, sum_xx = 0.0, sum_xy = 0.0;
    for (std::size_t bin = before; bin <= top; ++bin) {
        const double x = std::log(static_cast<double>(bin) / static_cast<double>(top));
        sum_x += x;
        sum_y += log_of[bin];
        sum_xx += x * x;
        sum_xy += x * log_of[bin];
    }
    const auto count = static_cast<double>(top - before + 1);
    const double slope = std::clamp((count * sum_xy - sum_x * sum_y) / (count * sum_xx - sum_x * sum_x), -10.0, 0.0);
    const double at_top = (sum_y - slope * sum_x) / count;
    for (std::size_t bin = top; bin < log_of.size(); ++bin)
        log_of[bin] = at_top + slope * std::log(static_cast<double>(bin) / static_cast<double>(top));
    return log_of;
}

// Phase of the minimum-phase system of a magnitude, by folding its cepstrum.
std::vector<double> minimum_phase(const RealFft& fft, const std::vector<double>& log_of) {
    Spectrum log_spectrum(log_of.size());
    for (std::size_t bin = 0; bin < log_of.size(); ++bin) log_spectrum[bin] = static_cast<float>(log_of[bin]);
    std::vector<float> cepstrum = fft.inverse(log_spectrum);
    for (std::size_t n = 1; n < cepstrum.size() / 2; ++n) cepstrum[n] *= 2.0F;
    std::fill(cepstrum.begin() + static_cast<std::ptrdiff_t>(cepstrum.size() / 2 + 1), cepstrum.end(), 0.0F);
    fft.forward(cepstrum, log_spectrum);
    std::vector<double> phase(log_of.size());
    for (std::size_t bin = 0; bin < phase.size(); ++bin) phase[bin] = static_cast<double>(log_spectrum[bin].imag());
    return phase;
}

struct Normal {  // normal equations of the three unknowns: constant, delay, all-pass
    std::array<std::array<double, 3>, 3> matrix{};
    std::array<double, 3> right{};

    void add(const std::array<double, 3>& row, double value, double weight) {
        for (std::size_t i = 0; i < 3; ++i) {
            for (std::size_t j = 0; j < 3; ++j) matrix[i][j] += weight * row[i] * row[j];
            right[i] += weight * row[i] * value;
        }
    }
    // Inverse of the symmetric matrix by cofactors.
    [[nodiscard]] std::array<std::array<double, 3>, 3> inverse() const {
        const auto& m = matrix;
        std::array<std::array<double, 3>, 3> out{};
        const double det = m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1]) - m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0]) +
                           m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0]);
        for (std::size_t i = 0; i < 3; ++i)
            for (std::size_t j = 0; j < 3; ++j) {
                const std::size_t a = (j + 1) % 3, b = (j + 2) % 3, c = (i + 1) % 3, d = (i + 2) % 3;
                out[i][j] = (m[a][c] * m[b][d] - m[a][d] * m[b][c]) / det;
            }
        return out;
    }
};

}  // namespace

std::optional<ExcessPhase> fit_excess_phase(std::span<const float> direct, double rate_hz, double near_s, const PhaseBand& band) {
    if (direct.size() < 16 || !(band.high_hz > 1.2 * band.low_hz) || band.high_hz > 0.5 * rate_hz) return std::nullopt;
    const RealFft fft(fast_size(std::max<std::size_t>(4 * direct.size(), 4096)));
    const double bin_hz = rate_hz / static_cast<double>(fft.size());
    const Spectrum spectrum = fft.forward(direct);
    const std::vector<double> own = minimum_phase(fft, log_magnitude(spectrum, bin_hz, band));

    const auto first = static_cast<std::size_t>(std::ceil(band.low_hz / bin_hz)), last = static_cast<std::size_t>(band.high_hz / bin_hz);
    if (last < first + 4) return std::nullopt;
    const double independent = std::max(2.0, (band.high_hz - band.low_hz) * static_cast<double>(direct.size()) / rate_hz);
    const double variance = phase_u_rad * phase_u_rad + band.noise_share / 2.0;
    const double weight = independent / static_cast<double>(last - first + 1) / variance;
    const double middle_hz = 0.5 * (band.low_hz + band.high_hz);

    // Unknowns scaled to about one: constant in rad, delay in 1/middle_hz, all-pass in middle_hz.
    std::vector<double> phases, scaled_hz;
    double unwrapped = 0.0;
    for (std::size_t bin = first; bin <= last; ++bin) {
        const double hz = static_cast<double>(bin) * bin_hz;
        double phase = std::arg(std::complex<double>(spectrum[bin])) - own[bin] + 2.0 * pi * hz * near_s;
        phase -= 2.0 * pi * std::round((phase - unwrapped) / (2.0 * pi));
        unwrapped = phase;
        phases.push_back(phase);
        scaled_hz.push_back(hz / middle_hz);
    }
    const double prior_a = band.high_hz > 4500.0 ? usual_all_pass_hz / middle_hz : 0.0;
    const double prior_a_u = (band.high_hz > 4500.0 ? usual_all_pass_u_hz : 0.15 * middle_hz) / middle_hz;
    const auto solve = [&](std::optional<double> constant, std::array<double, 3>& x, std::array<double, 3>& u) {
        Normal normal;
        for (std::size_t n = 0; n < phases.size(); ++n)
            normal.add({1.0, -2.0 * pi * scaled_hz[n], 1.0 / scaled_hz[n]}, phases[n], weight);
        normal.add({0.0, 0.0, 1.0}, prior_a, 1.0 / (prior_a_u * prior_a_u));
        if (constant) normal.add({1.0, 0.0, 0.0}, *constant, 1e8);
        const auto covariance = normal.inverse();
        for (std::size_t i = 0; i < 3; ++i) {
            x[i] = 0.0;
            for (std::size_t j = 0; j < 3; ++j) x[i] += covariance[i][j] * normal.right[j];
            u[i] = std::sqrt(std::max(covariance[i][i], 0.0));
        }
    };
    std::array<double, 3> x{}, u{};
    solve(std::nullopt, x, u);
    if (!std::isfinite(x[0]) || !std::isfinite(u[0])) return std::nullopt;
    ExcessPhase fit;
    fit.constant_rad = std::remainder(x[0], 2.0 * pi);
    fit.constant_u_rad = u[0];
    fit.polarity = std::abs(fit.constant_rad) < pi / 2.0 ? 1 : -1;
    const double nearest = pi * std::round(x[0] / pi);
    solve(nearest, x, u);
    fit.delay_s = near_s + x[1] / middle_hz;
    fit.delay_u_s = u[1] / middle_hz;
    double sum = 0.0;
    for (std::size_t n = 0; n < phases.size(); ++n) {
        const double left = phases[n] - (x[0] - 2.0 * pi * scaled_hz[n] * x[1] + x[2] / scaled_hz[n]);
        sum += left * left;
    }
    fit.rms_rad = std::sqrt(sum / static_cast<double>(phases.size()));
    return fit;
}

}  // namespace proofwalk::signal
