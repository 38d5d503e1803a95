#include "signal/excitation.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>
#include <random>
#include <string>

#include "signal/fft.hpp"
#include "units/convert.hpp"

namespace proofwalk::signal {

namespace {

Fault refused(std::string reason, std::string remedy) {
    return {FaultKind::input, {}, "test signal", std::move(reason), std::move(remedy)};
}

constexpr double loudest_dbfs = 0.0;
constexpr double quietest_dbfs = -120.0;
constexpr double longest_s = 600.0;

std::optional<Fault> common_fault(double rate_hz, double low_hz, double high_hz, double length_s, double level_dbfs) {
    if (!(rate_hz >= 8000.0 && rate_hz <= 384000.0)) return refused("the sample rate is not between 8 and 384 kHz", "choose 48000");
    if (!(low_hz > 0.0 && low_hz < high_hz)) return refused("the band is empty or begins at zero", "choose a lower limit above 0 Hz and below the upper one");
    if (!(high_hz <= rate_hz / 2.0)) return refused("the band reaches above half the sample rate", "lower the upper limit");
    if (!(length_s > 0.0 && length_s <= longest_s)) return refused("the length is not between 0 and 600 s", "choose some seconds");
    if (!(level_dbfs >= quietest_dbfs && level_dbfs <= loudest_dbfs))
        return refused("the level is not between -120 and 0 dBFS", "choose about -20 dBFS");
    return std::nullopt;
}

// Half a cosine from 0 to 1 over its argument 0..1.
double rise(double x) { return 0.5 - 0.5 * std::cos(std::numbers::pi * std::clamp(x, 0.0, 1.0)); }

}  // namespace

Result<std::vector<float>> exponential_sweep(const SweepSettings& settings) {
    if (auto fault = common_fault(settings.rate_hz, settings.start_hz, settings.stop_hz, settings.length_s, settings.level_dbfs))
        return std::unexpected(*fault);
    if (!(settings.fade_in_s >= 0.0 && settings.fade_out_s >= 0.0 && settings.fade_in_s + settings.fade_out_s <= settings.length_s))
        return std::unexpected(refused("the fades are longer than the sweep", "shorten the fades"));

    const auto count = static_cast<std::size_t>(std::llround(settings.length_s * settings.rate_hz));
    const double time_constant_s = settings.length_s / std::log(settings.stop_hz / settings.start_hz);
    const double amplitude = amplitude_of_db(settings.level_dbfs);
    std::vector<float> sweep(count);
    for (std::size_t n = 0; n < count; ++n) {
        const double t = static_cast<double>(n) / settings.rate_hz;
        const double phase = 2.0 * std::numbers::pi * settings.start_hz * time_constant_s * std::expm1(t / time_constant_s);
        double gain = amplitude;
        if (t < settings.fade_in_s) gain *= rise(t / settings.fade_in_s);
        const double left_s = settings.length_s - t;
        if (left_s < settings.fade_out_s) gain *= rise(left_s / settings.fade_out_s);
        sweep[n] = static_cast<float>(gain * std::sin(phase));
    }
    return sweep;
}

Result<std::vector<float>> periodic_pink_noise(const NoiseSettings& settings) {
    if (auto fault = common_fault(settings.rate_hz, settings.low_hz, settings.high_hz, settings.length_s, settings.level_dbfs))
        return std::unexpected(*fault);
    const auto period = static_cast<std::size_t>(std::llround(settings.period_s * settings.rate_hz));
    if (period < 64 || period % 2 != 0 || settings.period_s > longest_s)
        return std::unexpected(refused("the period is not an even number of samples, at least 64", "choose a period of 1 s"));
    const auto periods = static_cast<std::size_t>(std::floor(settings.length_s / settings.period_s + 1e-9));
    if (periods == 0) return std::unexpected(refused("the length is shorter than one period", "lengthen the signal or shorten its period"));

    const RealFft fft(period);
    Spectrum spectrum(fft.bins());
    std::mt19937_64 random(settings.seed);
    for (std::size_t bin = 1; bin + 1 < spectrum.size(); ++bin) {
        const double frequency_hz = static_cast<double>(bin) * settings.rate_hz / static_cast<double>(period);
        // The generator's own bits, not a library distribution, so that a seed means the same on every machine.
        const double phase = 2.0 * std::numbers::pi * static_cast<double>(random() >> 11) * 0x1.0p-53;
        if (frequency_hz < settings.low_hz || frequency_hz > settings.high_hz) continue;
        const double magnitude = 1.0 / std::sqrt(frequency_hz);
        spectrum[bin] = {static_cast<float>(magnitude * std::cos(phase)), static_cast<float>(magnitude * std::sin(phase))};
    }
    std::vector<float> one = fft.inverse(spectrum);
    double power = 0.0;
    for (float sample : one) power += static_cast<double>(sample) * static_cast<double>(sample);
    power /= static_cast<double>(period);
    if (!(power > 0.0)) return std::unexpected(refused("no frequency of the band fits the period", "lengthen the period"));
    const double gain = amplitude_of_db(settings.level_dbfs) / std::sqrt(2.0 * power);  // a full-scale sine has power 1/2
    double peak = 0.0;
    for (float& sample : one) {
        sample = static_cast<float>(gain * static_cast<double>(sample));
        peak = std::max(peak, std::abs(static_cast<double>(sample)));
    }
    if (peak > 1.0) return std::unexpected(refused("the noise would clip at this level", "lower the level to -15 dBFS or less"));

    std::vector<float> noise;
    noise.reserve(period * periods);
    for (std::size_t n = 0; n < periods; ++n) noise.insert(noise.end(), one.begin(), one.end());
    return noise;
}

}  // namespace proofwalk::signal
