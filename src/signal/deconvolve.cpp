#include "signal/deconvolve.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "signal/third_octave.hpp"
#include "units/convert.hpp"

namespace proofwalk::signal {

namespace {

constexpr double regularisation = 1e-6;
constexpr double edge_share = 1.0;
constexpr double covered_below_median_db = 12.0;  // a third octave further down is not covered by the signal

// |X|^2 smoothed over a third octave.
std::vector<double> smoothed_power(const Spectrum& spectrum) {
    std::vector<double> cumulative(spectrum.size() + 1, 0.0);
    for (std::size_t bin = 0; bin < spectrum.size(); ++bin) cumulative[bin + 1] = cumulative[bin] + static_cast<double>(std::norm(spectrum[bin]));
    std::vector<double> smooth(spectrum.size(), 0.0);
    for (std::size_t bin = 1; bin < spectrum.size(); ++bin) {
        const auto first = static_cast<std::size_t>(static_cast<double>(bin) / 1.122);
        const auto last = std::min(spectrum.size(), static_cast<std::size_t>(static_cast<double>(bin) * 1.122) + 1);
        smooth[bin] = (cumulative[last] - cumulative[first]) / static_cast<double>(last - first);
    }
    return smooth;
}

}  // namespace

Excitation::Excitation(std::span<const float> reference, double rate_hz, std::size_t fft_size)
    : fft_(fft_size), rate_hz_(rate_hz), spectrum_(fft_.forward(reference)), inverse_(fft_.bins()), whitening_(fft_.bins(), 0.0F) {
    const double bin_hz = rate_hz / static_cast<double>(fft_size);

    // When it sounds: first and last 10 ms block within 40 dB of the loudest.
    const auto block = static_cast<std::size_t>(0.01 * rate_hz);
    std::vector<double> power;
    for (std::size_t start = 0; start + block <= reference.size(); start += block) {
        double sum = 0.0;
        for (std::size_t n = start; n < start + block; ++n) sum += static_cast<double>(reference[n]) * static_cast<double>(reference[n]);
        power.push_back(sum);
    }
    const double loudest = power.empty() ? 0.0 : *std::ranges::max_element(power);
    std::size_t first = 0, last = power.size();
    while (first < last && power[first] < 1e-4 * loudest) ++first;
    while (last > first && power[last - 1] < 1e-4 * loudest) --last;
    begins_s_ = static_cast<double>(first * block) / rate_hz;
    ends_s_ = static_cast<double>(last * block) / rate_hz;

    // Level while it sounds. Parseval: sum |x|^2 = 2/N sum |X|^2 over the one-sided lines.
    std::vector<double> energy(spectrum_.size());
    for (std::size_t bin = 0; bin < energy.size(); ++bin) energy[bin] = static_cast<double>(std::norm(spectrum_[bin]));
    const double sounds_samples = std::max((ends_s_ - begins_s_) * rate_hz, 1.0);
    played_db_ = sum_levels(energy, bin_hz);
    const double scale_db = power_db(2.0 / static_cast<double>(fft_size) / sounds_samples) + power_db(2.0);
    for (double& level : played_db_.db) level += scale_db;

    // The covered band: third octaves near the median level (a pink spectrum has equal ones).
    std::vector<double> present;
    for (std::size_t band = 0; band < band_count; ++band)
        if (played_db_.has(band)) present.push_back(played_db_[band]);
    std::ranges::sort(present);
    const double strong_db = present.empty() ? 0.0 : present[present.size() - 1 - present.size() / 4];
    std::size_t low = band_count, high = 0;
    for (std::size_t band = 0; band < band_count; ++band) {
        if (!played_db_.has(band) || played_db_[band] < strong_db - covered_below_median_db) continue;
        low = std::min(low, band);
        high = std::max(high, band);
    }
    const std::vector<double> smooth = smoothed_power(spectrum_);
    if (low > high || !(loudest > 0.0)) return;
    // Within the outermost bands the edge is where the smoothed density (times frequency) falls 6 dB below its own level.
    const auto density = [&](std::size_t bin) { return smooth[bin] * static_cast<double>(bin); };
    const auto bin_of = [&](double hz) { return std::min(static_cast<std::size_t>(hz / bin_hz), spectrum_.size() - 1); };
    std::size_t low_bin = std::max<std::size_t>(bin_of(midband_hz(low)), 1), high_bin = bin_of(midband_hz(high));
    const double low_level = density(bin_of(midband_hz(std::min(low + 1, high)))), high_level = density(bin_of(midband_hz(high > low ? high - 1 : high)));
    while (low_bin > 1 && density(low_bin - 1) > 0.5 * low_level) --low_bin;
    while (high_bin + 1 < spectrum_.size() && density(high_bin + 1) > 0.5 * high_level) ++high_bin;
    low_hz_ = static_cast<double>(low_bin) * bin_hz;
    high_hz_ = std::min(static_cast<double>(high_bin) * bin_hz, 0.499 * rate_hz);

    // The edges fall to nothing within a sixth of an octave.
    const double sixth = std::pow(2.0, 1.0 / 6.0), log_sixth = std::log(sixth);
    const auto edge = [&](double ratio) { return ratio >= sixth ? 0.0 : 0.5 + 0.5 * std::cos(std::numbers::pi * std::log(ratio) / log_sixth); };
    for (std::size_t bin = 1; bin < spectrum_.size(); ++bin) {
        const double hz = static_cast<double>(bin) * bin_hz;
        double gain = 1.0;
        if (hz < low_hz_) gain = edge(low_hz_ / hz);
        if (hz > high_hz_) gain = edge(hz / high_hz_);
        if (gain <= 0.0) continue;
        if (hz >= low_hz_ && hz <= high_hz_ && smooth[bin] > 0.0) whitening_[bin] = static_cast<float>(1.0 / std::sqrt(smooth[bin]));
        // Outside the band the signal fades and noise would be divided by nearly nothing: the edge's own power bounds it.
        const double edge_power = hz < low_hz_ ? smooth[low_bin] : smooth[high_bin];
        const double bound = hz < low_hz_ || hz > high_hz_ ? edge_share * (1.0 - gain) * edge_power : 0.0;
        const double divisor = static_cast<double>(std::norm(spectrum_[bin])) + regularisation * smooth[bin] + bound;
        if (divisor > 0.0) inverse_[bin] = std::conj(spectrum_[bin]) * static_cast<float>(gain / divisor);
    }
}

Spectrum Excitation::divide(std::span<const std::complex<float>> mic) const {
    Spectrum response(inverse_.size());
    for (std::size_t bin = 0; bin < response.size(); ++bin) response[bin] = mic[bin] * inverse_[bin];
    return response;
}

}  // namespace proofwalk::signal
