#include "signal/dual_channel.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <string>

#include "signal/fft.hpp"
#include "signal/fft_lanes.hpp"

namespace proofwalk::signal {

namespace {

std::unexpected<Fault> refused(std::string reason, std::string remedy) {
    return std::unexpected(Fault{FaultKind::input, {}, "noise take", std::move(reason), std::move(remedy)});
}

struct Averages {
    std::vector<float> gyy, gxx;
    std::vector<std::complex<float>> gxy;
};

}  // namespace

double effective_averages_of(int blocks) {
    const double k = blocks;
    return blocks < 1 ? 0.0 : 36.0 * k * k / (38.0 * k - 2.0);
}

double random_error_of(double coherence, double averages) {
    if (!(coherence > 0.0) || !(averages > 0.0)) return 1.0;
    return std::sqrt(std::max(0.0, 1.0 - coherence)) / std::sqrt(coherence * 2.0 * averages);
}

double chance_coherence(double averages) { return averages <= 1.0 ? 1.0 : 1.0 - std::pow(0.05, 1.0 / (averages - 1.0)); }

std::ptrdiff_t delay_between(std::span<const float> reference, std::span<const float> mic) {
    const RealFft fft(fast_size(std::max(reference.size(), mic.size()) * 3 / 2));
    Spectrum x = fft.forward(reference);
    const Spectrum y = fft.forward(mic);
    double mean = 0.0;
    for (const auto& line : x) mean += static_cast<double>(std::norm(line)) / static_cast<double>(x.size());
    for (std::size_t bin = 0; bin < x.size(); ++bin) {
        const std::complex<float> cross = std::conj(x[bin]) * y[bin];
        const float size = std::abs(cross);
        const bool carries = static_cast<double>(std::norm(x[bin])) > 1e-4 * mean;
        x[bin] = carries && size > 0.0F ? cross / size : std::complex<float>{};
    }
    const std::vector<float> correlation = fft.inverse(x);
    const auto peak = std::ranges::max_element(correlation, {}, [](float c) { return std::abs(c); }) - correlation.begin();
    return peak > static_cast<std::ptrdiff_t>(correlation.size() / 2) ? peak - static_cast<std::ptrdiff_t>(correlation.size()) : peak;
}

Result<std::vector<DualChannel>> dual_channel(std::span<const float> reference, std::span<const std::span<const float>> mics, double rate_hz,
                                              const DualChannelSettings& settings) {
    if (settings.block < 64 || settings.block % 2 != 0) return refused("the block is not an even number of samples, at least 64", "choose 16384");
    if (!(rate_hz > 0.0) || mics.empty()) return refused("there is no mic", "name the channels that carry a mic");
    for (const auto& mic : mics)
        if (mic.size() != reference.size()) return refused("the channels are not of one length", "record them together");
    if (std::ranges::all_of(reference, [](float s) { return s == 0.0F; })) return refused("the reference is silent", "patch the reference and record again");

    const std::size_t block = settings.block, hop = block / 2;
    const auto length = static_cast<std::ptrdiff_t>(reference.size());
    const RealFft fft(block);
    std::vector<float> window(block);
    for (std::size_t n = 0; n < block; ++n)
        window[n] = static_cast<float>(0.5 - 0.5 * std::cos(2.0 * std::numbers::pi * static_cast<double>(n) / static_cast<double>(block)));

    std::vector<DualChannel> results(mics.size());
    std::vector<Averages> averages(mics.size());
    for (std::size_t mic = 0; mic < mics.size(); ++mic) {
        results[mic].delay_samples = settings.delay_samples.value_or(0);
        if (!settings.delay_samples) results[mic].delay_samples = delay_between(reference, mics[mic]);
        averages[mic].gxx.assign(fft.bins(), 0.0F);
        averages[mic].gyy.assign(fft.bins(), 0.0F);
        averages[mic].gxy.assign(fft.bins(), {});
    }
    const lanes::Functions& lanes = lanes::chosen();
    std::vector<float> samples(block);
    Spectrum x(fft.bins()), y(fft.bins());
    for (std::ptrdiff_t start = 0; start + static_cast<std::ptrdiff_t>(block) <= length; start += static_cast<std::ptrdiff_t>(hop)) {
        lanes.multiply(block, reference.data() + start, window.data(), samples.data());
        fft.forward(samples, x);
        for (std::size_t mic = 0; mic < mics.size(); ++mic) {
            const std::ptrdiff_t begin = start + results[mic].delay_samples;
            if (begin < 0 || begin + static_cast<std::ptrdiff_t>(block) > length) continue;
            lanes.multiply(block, mics[mic].data() + begin, window.data(), samples.data());
            fft.forward(samples, y);
            Averages& sums = averages[mic];
            lanes.accumulate(x.size(), reinterpret_cast<const float*>(x.data()), reinterpret_cast<const float*>(y.data()), sums.gxx.data(), sums.gyy.data(),
                       reinterpret_cast<float*>(sums.gxy.data()));
            ++results[mic].blocks;
        }
    }
    for (std::size_t mic = 0; mic < mics.size(); ++mic) {
        DualChannel& result = results[mic];
        if (result.blocks < 2) return refused("there are fewer than two blocks of sound, so coherence would say nothing", "record longer or choose a shorter block");
        const Averages& sums = averages[mic];
        result.bin_hz = rate_hz / static_cast<double>(block);
        result.effective_averages = effective_averages_of(result.blocks);
        result.h1.resize(fft.bins());
        result.h2.resize(fft.bins());
        result.coherence.resize(fft.bins());
        result.random_error.resize(fft.bins());
        for (std::size_t bin = 0; bin < fft.bins(); ++bin) {
            const double turn = -2.0 * std::numbers::pi * static_cast<double>(bin) * static_cast<double>(result.delay_samples) / static_cast<double>(block);
            const std::complex<float> back(static_cast<float>(std::cos(turn)), static_cast<float>(std::sin(turn)));
            const float cross = std::norm(sums.gxy[bin]);
            if (sums.gxx[bin] > 0.0F) result.h1[bin] = sums.gxy[bin] / sums.gxx[bin] * back;
            if (cross > 0.0F) result.h2[bin] = sums.gyy[bin] * sums.gxy[bin] / cross * back;  // Gyy / conj(Gxy)
            const float both = sums.gxx[bin] * sums.gyy[bin];
            result.coherence[bin] = both > 0.0F ? std::min(cross / both, 1.0F) : 0.0F;
            result.random_error[bin] = static_cast<float>(random_error_of(static_cast<double>(result.coherence[bin]), result.effective_averages));
        }
    }
    return results;
}

}  // namespace proofwalk::signal
