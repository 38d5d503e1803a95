// Arrivals in free field under noise alone against the Cramer-Rao bound of a known signal's delay (Kay, Fundamentals of
// Statistical Signal Processing: Estimation Theory, 1993, section 3.11; here with coloured noise, line by line).
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "signal/take.hpp"

namespace proofwalk::signal {
namespace {

// 1 / sqrt(sum over lines of 2 |X|^2 w^2 / E|N|^2) for a signal heard at `gain`.
double bound_s(const std::vector<float>& played, double gain, const std::vector<std::vector<float>>& noises, double rate_hz) {
    const RealFft fft(fast_size(played.size()));
    const Spectrum signal = fft.forward(played);
    std::vector<double> noise(signal.size(), 0.0);
    for (const auto& samples : noises) {
        const Spectrum lines = fft.forward(samples);
        for (std::size_t bin = 0; bin < lines.size(); ++bin) noise[bin] += static_cast<double>(std::norm(lines[bin])) / static_cast<double>(noises.size());
    }
    // Pink noise: its density times frequency is one figure.
    double density = 0.0;
    for (std::size_t bin = 100; bin < noise.size(); ++bin) density += noise[bin] * static_cast<double>(bin) / static_cast<double>(noise.size() - 100);
    double information = 0.0;
    for (std::size_t bin = 100; bin < noise.size(); ++bin) {
        const double w = 2.0 * std::numbers::pi * static_cast<double>(bin) * rate_hz / static_cast<double>(fft.size());
        information += 2.0 * gain * gain * static_cast<double>(std::norm(signal[bin])) * w * w * static_cast<double>(bin) / density;
    }
    return 1.0 / std::sqrt(information);
}

TEST(Bound, arrivals_in_free_field_come_within_twice_the_bound_or_a_microsecond) {
    constexpr double gain = 0.1, at_s = 0.0212345;
    constexpr unsigned takes = 24;
    for (const double noise_rms : {3e-3, 3e-2}) {
        const auto clean = test::sweep_take({{at_s, gain}}, 0.0);
        std::vector<std::vector<float>> noises;
        double sum = 0.0, squares = 0.0;
        for (unsigned seed = 1; seed <= takes; ++seed) {
            noises.push_back(test::pink_like_noise(clean.mic.size(), noise_rms, seed));
            auto take = clean;
            for (std::size_t n = 0; n < take.mic.size(); ++n) take.mic[n] += noises.back()[n];
            const auto reading = take.reading();
            ASSERT_TRUE(reading.arrival_s) << noise_rms << ", seed " << seed;
            const double error_s = reading.arrival_s->value - at_s;
            sum += error_s;
            squares += error_s * error_s;
        }
        const double spread_s = std::sqrt((squares - sum * sum / takes) / (takes - 1));
        const double bound = bound_s(clean.reference, gain, noises, clean.rate_hz);
        RecordProperty("spread_over_bound_at_" + std::to_string(noise_rms), std::to_string(spread_s / bound));
        EXPECT_LE(spread_s, std::max(2.0 * bound, 1e-6)) << "bound " << bound << " s at noise " << noise_rms;
        EXPECT_LE(std::abs(sum / takes), 3e-6) << noise_rms;
    }
}

}  // namespace
}  // namespace proofwalk::signal
