#include "signal/harmonics.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <limits>
#include <numbers>

#include "signal/third_octave.hpp"
#include "units/convert.hpp"
#include "units/side_by_side.hpp"

namespace proofwalk::signal {

namespace {

constexpr double nothing = std::numeric_limits<double>::quiet_NaN();
constexpr double before_s = 0.004;

std::vector<float> piece(std::span<const float> circular, double from_s, double length_s, double rate_hz) {
    const auto size = static_cast<std::ptrdiff_t>(circular.size());
    const auto first = static_cast<std::ptrdiff_t>(std::llround(from_s * rate_hz));
    const auto count = static_cast<std::size_t>(length_s * rate_hz);
    const auto lead = static_cast<std::size_t>(before_s * rate_hz), fade = count / 4;
    std::vector<float> out(count);
    auto at = static_cast<std::size_t>((first % size + size) % size);
    for (std::size_t n = 0; n < count; ++n, at = at + 1 == circular.size() ? 0 : at + 1) {
        double weight = 1.0;
        if (n < lead) weight = 0.5 - 0.5 * std::cos(std::numbers::pi * static_cast<double>(n) / static_cast<double>(lead));
        if (n + fade >= count) weight = 0.5 - 0.5 * std::cos(std::numbers::pi * static_cast<double>(count - n) / static_cast<double>(fade));
        out[n] = static_cast<float>(weight * static_cast<double>(circular[at]));
    }
    return out;
}

double share_pct(double harmonic_power, double fundamental_power) { return 100.0 * std::sqrt(std::max(harmonic_power, 0.0) / fundamental_power); }

}  // namespace

std::optional<double> sweep_time_constant_s(const Excitation& excitation) {
    // Centre of the energy of two narrow bands, and of a third between them as a check.
    const double low = excitation.low_hz() * 2.0, high = excitation.high_hz() / 2.0;
    if (!(low > 0.0) || high < 4.0 * low) return std::nullopt;
    const std::array<double, 3> frequencies = {low, std::sqrt(low * high), high};
    std::array<double, 3> times{};
    std::array<bool, 3> heard{};
    side_by_side(3, [&](std::size_t k) {
        Spectrum band(excitation.spectrum().size());
        const double bin_hz = excitation.rate_hz() / static_cast<double>(excitation.fft().size());
        for (auto bin = static_cast<std::size_t>(frequencies[k] * 0.95 / bin_hz); bin < band.size(); ++bin) {
            const double x = std::log(static_cast<double>(bin) * bin_hz / frequencies[k]) / std::log(1.05);
            if (x > 1.0) break;
            band[bin] = excitation.spectrum()[bin] * static_cast<float>(0.5 + 0.5 * std::cos(std::numbers::pi * x));
        }
        const std::vector<float> samples = excitation.fft().inverse(band);
        double energy = 0.0, moment = 0.0;
        for (std::size_t n = 0; n < samples.size(); ++n) {
            const double square = static_cast<double>(samples[n]) * static_cast<double>(samples[n]);
            energy += square;
            moment += square * static_cast<double>(n);
        }
        heard[k] = energy > 0.0;
        if (heard[k]) times[k] = moment / energy / excitation.rate_hz();
    });
    if (!std::ranges::all_of(heard, std::identity())) return std::nullopt;
    const double whole = std::log(high / low);
    const double time_constant = (times[2] - times[0]) / whole;
    const double middle = times[0] + 0.5 * (times[2] - times[0]);
    if (!(time_constant > 0.005) || std::abs(times[1] - middle) > 0.02 * (times[2] - times[0])) return std::nullopt;
    return time_constant;
}

Distortion distortion_of(std::span<const float> circular, double rate_hz, double time_constant_s, double arrival_s, double low_hz, double high_hz,
                         double sweep_low_hz, double sweep_high_hz) {
    // One window for all, so that room and gate act alike: within 0.8 of the gap to the next harmonic (fourth to third).
    const double length_s = std::min(0.25, 0.8 * time_constant_s * std::log(4.0 / 3.0)) + before_s;
    const RealFft fft(fast_size(static_cast<std::size_t>(length_s * rate_hz) * 2));
    const double bin_hz = rate_hz / static_cast<double>(fft.size());
    const auto spectrum_before = [&](double lead_s) { return fft.forward(piece(circular, arrival_s - before_s - lead_s, length_s, rate_hz)); };
    const Spectrum linear = spectrum_before(0.0);
    const Spectrum second = spectrum_before(time_constant_s * std::log(2.0));
    const Spectrum third = spectrum_before(time_constant_s * std::log(3.0));
    // Noise: beside the eighth harmonic, where nothing that is measured stands.
    const Spectrum noise = spectrum_before(time_constant_s * std::log(9.5));

    Distortion distortion;
    double band_linear = 0.0, band_second = 0.0, band_third = 0.0, band_noise2 = 0.0, band_noise3 = 0.0, band_linear3 = 0.0;
    for (std::size_t band = 0; band < band_count; ++band) {
        const double from = lower_edge_hz(band), to = upper_edge_hz(band);
        const double base = mean_power(linear, bin_hz, from, to);
        if (!(base > 0.0) || from < sweep_low_hz || to > sweep_high_hz || to - from < 2.0 * bin_hz) continue;
        const auto harmonic = [&](const Spectrum& spectrum, int order) {
            return to * order <= sweep_high_hz ? mean_power(spectrum, bin_hz, from * order, to * order) : nothing;
        };
        const double noise2 = harmonic(noise, 2), noise3 = harmonic(noise, 3);
        const double power2 = harmonic(second, 2) - noise2, power3 = harmonic(third, 3) - noise3;
        const bool seen2 = power2 > noise2, seen3 = power3 > noise3;
        distortion.hz.push_back(midband_hz(band));
        distortion.floor_pct.push_back(std::isfinite(noise2) ? share_pct(noise2, base) : nothing);
        distortion.second_pct.push_back(seen2 ? share_pct(power2, base) : nothing);
        distortion.third_pct.push_back(seen3 ? share_pct(power3, base) : nothing);
        distortion.total_pct.push_back(seen2 || seen3 ? share_pct((seen2 ? power2 : 0.0) + (seen3 ? power3 : 0.0), base) : nothing);
        if (midband_hz(band) < low_hz * 0.97 || midband_hz(band) > high_hz * 1.03) continue;
        if (std::isfinite(power2)) {
            band_linear += base;
            band_second += power2;
            band_noise2 += noise2;
        }
        if (std::isfinite(power3)) {
            band_linear3 += base;
            band_third += power3;
            band_noise3 += noise3;
        }
    }
    if (band_linear > 0.0 && band_second > band_noise2) distortion.second_in_band_pct = share_pct(band_second, band_linear);
    if (band_linear3 > 0.0 && band_third > band_noise3) distortion.third_in_band_pct = share_pct(band_third, band_linear3);
    return distortion;
}

}  // namespace proofwalk::signal
