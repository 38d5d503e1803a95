// Small takes for tests: a sweep through a known response, with what went wrong planted on request.
#pragma once

#include <cmath>
#include <functional>
#include <random>
#include <vector>

#include "signal/evidence.hpp"
#include "signal/excitation.hpp"
#include "signal/fft.hpp"
#include "signal/measure.hpp"

namespace proofwalk::test {

struct Take {
    double rate_hz = 48000.0;
    signal::TakeKind kind = signal::TakeKind::sweep;
    std::vector<float> reference, mic;

    [[nodiscard]] signal::Samples samples() const {
        signal::Samples samples;
        samples.rate_hz = rate_hz;
        samples.kind = kind;
        samples.reference = reference;
        samples.mics.push_back({mic, {}, {}, 0.0});
        return samples;
    }
    [[nodiscard]] signal::Evidence evidence(const signal::Bands& bands = {}) const { return (*signal::measure(samples(), bands))[0][0]; }
    [[nodiscard]] signal::Reading reading(const signal::Bands& bands = {}) const { return signal::read(evidence(bands), bands); }
};

struct Pulse {
    double at_s = 0.0;
    double gain = 1.0;
};

inline std::vector<float> pink_like_noise(std::size_t count, double rms, unsigned seed) {
    const signal::RealFft fft(signal::fast_size(count));
    signal::Spectrum spectrum(fft.bins());
    std::mt19937 random(seed);
    std::normal_distribution<float> normal;
    for (std::size_t bin = 1; bin < spectrum.size(); ++bin) spectrum[bin] = std::complex<float>(normal(random), normal(random)) / std::sqrt(static_cast<float>(bin));
    std::vector<float> noise = fft.inverse(spectrum);
    noise.resize(count);
    double power = 0.0;
    for (const float n : noise) power += static_cast<double>(n) * static_cast<double>(n);
    const auto gain = static_cast<float>(rms / std::sqrt(power / static_cast<double>(count)));
    for (float& n : noise) n *= gain;
    return noise;
}

// The signal through pulses (at fractions of a sample too), with noise of the given rms.
inline std::vector<float> through(const std::vector<float>& signal, const std::vector<Pulse>& pulses, double rate_hz, double noise_rms, unsigned seed = 1) {
    const signal::RealFft fft(signal::fast_size(signal.size() + static_cast<std::size_t>(rate_hz)));
    signal::Spectrum spectrum = fft.forward(signal);
    for (std::size_t bin = 0; bin < spectrum.size(); ++bin) {
        const double hz = static_cast<double>(bin) * rate_hz / static_cast<double>(fft.size());
        std::complex<double> response;
        for (const Pulse& pulse : pulses) response += std::polar(pulse.gain, -2.0 * 3.14159265358979323846 * hz * pulse.at_s);
        spectrum[bin] = std::complex<float>(std::complex<double>(spectrum[bin]) * response);
    }
    std::vector<float> out = fft.inverse(spectrum);
    out.resize(signal.size());
    if (noise_rms > 0.0) {
        const auto noise = pink_like_noise(out.size(), noise_rms, seed);
        for (std::size_t n = 0; n < out.size(); ++n) out[n] += noise[n];
    }
    return out;
}

inline std::vector<float> test_sweep(double length_s = 2.0, double level_dbfs = -12.0, double rate_hz = 48000.0, double whole_s = 3.5) {
    std::vector<float> sweep = *signal::exponential_sweep({.rate_hz = rate_hz, .length_s = length_s, .level_dbfs = level_dbfs});
    std::vector<float> whole(static_cast<std::size_t>(0.1 * rate_hz), 0.0F);  // silence ahead, as a recorder leaves it
    whole.insert(whole.end(), sweep.begin(), sweep.end());
    whole.resize(static_cast<std::size_t>(whole_s * rate_hz), 0.0F);
    return whole;
}

inline Take sweep_take(const std::vector<Pulse>& pulses, double noise_rms = 1e-4, unsigned seed = 1) {
    Take take;
    take.reference = test_sweep();
    take.mic = through(take.reference, pulses, take.rate_hz, noise_rms, seed);
    return take;
}

}  // namespace proofwalk::test
