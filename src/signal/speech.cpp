#include "signal/speech.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>

#include "units/convert.hpp"

namespace proofwalk::signal {

namespace {

constexpr std::array<double, octave_count> alpha = {0.085, 0.127, 0.230, 0.233, 0.309, 0.224, 0.173};
constexpr std::array<double, octave_count - 1> beta = {0.085, 0.078, 0.065, 0.011, 0.047, 0.095};

double transmission_index(double m) {
    if (m <= 0.0) return 0.0;
    if (m >= 1.0) return 1.0;
    return (std::clamp(power_db(m / (1.0 - m)), -15.0, 15.0) + 15.0) / 30.0;
}

}  // namespace

double speech_transmission_index(const Modulation& modulation) {
    std::array<double, octave_count> mean{};
    for (std::size_t octave = 0; octave < octave_count; ++octave) {
        for (const double m : modulation[octave]) mean[octave] += transmission_index(m);
        mean[octave] /= static_cast<double>(modulation_hz.size());
    }
    double index = 0.0;
    for (std::size_t octave = 0; octave < octave_count; ++octave) index += alpha[octave] * mean[octave];
    for (std::size_t octave = 0; octave + 1 < octave_count; ++octave) index -= beta[octave] * std::sqrt(mean[octave] * mean[octave + 1]);
    return std::clamp(index, 0.0, 1.0);
}

Modulation modulation_of(const Evidence& evidence, double arrival_s, const std::array<std::optional<double>, octave_count>& signal_to_noise_db) {
    Modulation modulation{};
    const double at = (arrival_s - evidence.first_s) * evidence.rate_hz;
    if (!(at >= 0.0) || at >= static_cast<double>(evidence.impulse.size())) return modulation;
    for (std::size_t octave = 0; octave < octave_count; ++octave) {
        if (octave_nominal_hz[octave] * 1.5 > evidence.rate_hz / 2.0) continue;
        const std::vector<float> response = octave_response(evidence, octave);
        const auto first = static_cast<std::size_t>(std::max(at - 0.01 * evidence.rate_hz, 0.0));
        double energy = 0.0;
        std::array<std::complex<double>, modulation_hz.size()> sums{};
        for (std::size_t n = first; n < response.size(); ++n) {
            const double square = std::pow(static_cast<double>(response[n]), 2);
            energy += square;
            for (std::size_t k = 0; k < modulation_hz.size(); ++k)
                sums[k] += std::polar(square, -2.0 * std::numbers::pi * modulation_hz[k] * static_cast<double>(n - first) / evidence.rate_hz);
        }
        const double noise_factor = signal_to_noise_db[octave] ? 1.0 / (1.0 + power_of_db(-*signal_to_noise_db[octave])) : 1.0;
        for (std::size_t k = 0; k < modulation_hz.size(); ++k)
            modulation[octave][k] = energy > 0.0 ? std::min(std::abs(sums[k]) / energy * noise_factor, 1.0) : 0.0;
    }
    return modulation;
}

double auditory_masking_db(double level_db) {
    if (level_db < 63.0) return 0.5 * level_db - 65.0;
    if (level_db < 67.0) return 1.8 * level_db - 146.9;
    if (level_db < 100.0) return 0.5 * level_db - 59.8;
    return -10.0;
}

}  // namespace proofwalk::signal
