#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "signal/fft.hpp"
#include "signal/measure.hpp"
#include "signal/third_octave.hpp"
#include "units/convert.hpp"

namespace proofwalk::signal {

namespace {

std::vector<float> hann(std::size_t size) {
    std::vector<float> window(size);
    for (std::size_t n = 0; n < size; ++n)
        window[n] = static_cast<float>(0.5 - 0.5 * std::cos(2.0 * std::numbers::pi * static_cast<double>(n) / static_cast<double>(size)));
    return window;
}

// Mean square per line, Hann windows with 50 % overlap; one window over all when the samples are few.
std::vector<double> power_spectrum(std::span<const float> samples, std::size_t block) {
    const RealFft fft(block);
    const std::vector<float> window = hann(block);
    double window_power = 0.0;
    for (float w : window) window_power += static_cast<double>(w) * static_cast<double>(w);
    std::vector<double> power(fft.bins(), 0.0);
    std::vector<float> part(block);
    Spectrum spectrum(fft.bins());
    std::size_t blocks = 0;
    for (std::size_t start = 0; start == 0 || start + block <= samples.size(); start += block / 2, ++blocks) {
        for (std::size_t n = 0; n < block; ++n) part[n] = start + n < samples.size() ? samples[start + n] * window[n] : 0.0F;
        fft.forward(part, spectrum);
        for (std::size_t line = 0; line < spectrum.size(); ++line) power[line] += static_cast<double>(std::norm(spectrum[line]));
    }
    const double scale = 2.0 / (window_power * static_cast<double>(block) * static_cast<double>(blocks));
    for (double& value : power) value *= scale;
    power.front() /= 2.0;
    power.back() /= 2.0;
    return power;
}

}  // namespace

BandLevels band_levels_dbfs(std::span<const float> samples, double rate_hz) {
    BandLevels levels;
    if (samples.size() < 256 || !(rate_hz > 0.0)) return levels;
    const std::size_t block = std::min(fast_size(static_cast<std::size_t>(rate_hz * 0.68)), samples.size() & ~std::size_t{1});
    const std::vector<double> power = power_spectrum(samples, block);
    levels = sum_levels(power, rate_hz / static_cast<double>(block));
    for (double& level : levels.db) level += power_db(2.0);  // a full-scale sine has mean square 1/2 and reads 0
    return levels;
}

Result<double> pascal_per_fs_from_calibrator(std::span<const float> samples, double rate_hz, double level_db) {
    const auto refused = [](std::string reason, std::string remedy) {
        return std::unexpected(Fault{FaultKind::input, {}, "calibrator take", std::move(reason), std::move(remedy)});
    };
    if (!(level_db >= 60.0 && level_db <= 140.0)) return refused("the calibrator's level is not between 60 and 140 dB", "give 94 or 114");
    if (!(rate_hz >= 8000.0) || static_cast<double>(samples.size()) < 0.5 * rate_hz)
        return refused("the take is shorter than half a second", "record two seconds or more");
    float peak = 0.0F;
    for (float sample : samples) {
        if (!std::isfinite(sample)) return refused("the take holds numbers that cannot be", "record it again");
        peak = std::max(peak, std::abs(sample));
    }
    std::size_t at_peak = 0;
    for (float sample : samples)
        if (std::abs(sample) >= 0.999F * peak && peak > 0.99F) ++at_peak;
    if (at_peak > 8) return refused("the take is clipped", "lower the input gain and record it again");

    // A sine of the calibrator's frequency (1 kHz within 2 %) against all that is not it.
    const std::size_t block = fast_size(static_cast<std::size_t>(rate_hz * 0.4));
    const std::vector<double> power = power_spectrum(samples, std::min(block, samples.size() & ~std::size_t{1}));
    const double bin_hz = rate_hz / static_cast<double>(2 * (power.size() - 1));
    std::size_t tone = 0;
    for (std::size_t line = 1; line < power.size(); ++line) {
        const double hz = static_cast<double>(line) * bin_hz;
        if (hz >= 980.0 && hz <= 1020.0 && (tone == 0 || power[line] > power[tone])) tone = line;
    }
    double in_tone = 0.0, rest = 0.0;
    for (std::size_t line = 1; line < power.size(); ++line) {
        const bool near = line + 3 >= tone && line <= tone + 3;
        (near ? in_tone : rest) += power[line];
    }
    if (!(in_tone > 0.0) || in_tone < 10.0 * rest)
        return refused("no 1 kHz tone stands 10 dB above the rest", "seat the calibrator on the mic and record it again");
    const double pascal_rms = reference_pressure_pa * amplitude_of_db(level_db);
    return pascal_rms / std::sqrt(in_tone);
}

}  // namespace proofwalk::signal
