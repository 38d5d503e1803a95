#include "signal/dual_channel.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>

#include "signal/check_values.hpp"
#include "units/convert.hpp"

namespace proofwalk::signal {
namespace {

std::vector<float> white(std::size_t count, unsigned seed) {
    std::mt19937 random(seed);
    std::normal_distribution<float> normal;
    std::vector<float> samples(count);
    for (float& sample : samples) sample = 0.1F * normal(random);
    return samples;
}

DualChannel one(const std::vector<float>& x, const std::vector<float>& y, DualChannelSettings settings) {
    const std::vector<std::span<const float>> mics = {y};
    auto result = dual_channel(x, mics, 48000.0, settings);
    EXPECT_TRUE(result);
    return (*result)[0];
}

double middle_mean(const std::vector<float>& values) {
    double sum = 0.0;
    for (std::size_t n = values.size() / 8; n < values.size() * 7 / 8; ++n) sum += static_cast<double>(values[n]);
    return sum / static_cast<double>(values.size() * 7 / 8 - values.size() / 8);
}

TEST(DualChannel, errors_and_averages_of_the_handbook) {
    for (const auto& row : test::check_values("D", "random error of |H1|"))
        EXPECT_NEAR(random_error_of(row.input("coh"), row.input("nd")) * (row.unit == "%" ? 100.0 : 1.0), row.value, row.tolerance) << row.inputs;
    for (const auto& row : test::check_values("D", "Hann 50% overlap")) EXPECT_NEAR(effective_averages_of(static_cast<int>(row.input("K"))), row.value, row.tolerance);
    for (const auto& row : test::check_values("D", "95% zero-coherence")) EXPECT_NEAR(chance_coherence(row.input("nd")), row.value, row.tolerance);
}

TEST(DualChannel, coherence_follows_the_signal_to_noise_ratio) {
    const auto x = white(480000, 1), noise = white(480000, 2);
    for (const auto& row : test::check_values("D", "coherence from SNR")) {
        const double gain = amplitude_of_db(-row.input("SNR"));
        std::vector<float> y(x.size());
        for (std::size_t n = 0; n < y.size(); ++n) y[n] = x[n] + static_cast<float>(gain) * noise[n];
        const auto result = one(x, y, {.block = 1024, .delay_samples = 0});
        EXPECT_NEAR(middle_mean(result.coherence), row.value, 0.01) << row.inputs;
    }
}

TEST(DualChannel, misalignment_costs_what_the_closed_form_says_and_is_found_and_put_back) {
    const auto x = white(480000, 3);
    for (const auto& row : test::check_values("D", "coherence factor from delay misalignment, HANN")) {
        const std::size_t block = 2048;
        const auto shift = static_cast<std::size_t>(std::lround(row.input("x=tau/T") * static_cast<double>(block)));
        std::vector<float> y(x.size(), 0.0F);
        for (std::size_t n = shift; n < y.size(); ++n) y[n] = x[n - shift];
        const auto late = one(x, y, {.block = block, .delay_samples = 0});
        EXPECT_NEAR(middle_mean(late.coherence), row.value, 0.012) << row.inputs;
        const auto found = one(x, y, {.block = block, .delay_samples = {}});
        EXPECT_EQ(found.delay_samples, static_cast<std::ptrdiff_t>(shift));
        EXPECT_GT(middle_mean(found.coherence), 0.9999);
        const std::size_t bin = 300;
        const double phase = std::remainder(-2.0 * std::numbers::pi * 300.0 * static_cast<double>(shift) / static_cast<double>(block), 2.0 * std::numbers::pi);
        EXPECT_NEAR(std::remainder(static_cast<double>(std::arg(found.h1[bin])) - phase, 2.0 * std::numbers::pi), 0.0, 1e-3);
    }
}

TEST(DualChannel, noise_at_the_reference_lowers_h1_and_leaves_h2) {
    const auto signal = white(480000, 5), noise = white(480000, 6);
    std::vector<float> x(signal.size());
    for (std::size_t n = 0; n < x.size(); ++n) x[n] = signal[n] + noise[n];
    const auto result = one(x, signal, {.block = 1024, .delay_samples = 0});
    double h1 = 0.0, h2 = 0.0;
    for (std::size_t bin = 100; bin < 400; ++bin) {
        h1 += std::abs(result.h1[bin]) / 300.0;
        h2 += std::abs(result.h2[bin]) / 300.0;
    }
    EXPECT_NEAR(amplitude_db(h1), -6.02, 0.2);  // H1 falls by 1/(1 + N/S) in power terms of Gxx: one half
    EXPECT_NEAR(h2, 1.0, 0.05);
}

TEST(DualChannel, random_error_is_what_repeats_scatter_by) {
    double squares = 0.0, stated = 0.0;
    int count = 0;
    for (unsigned seed = 10; seed < 40; ++seed) {
        const auto x = white(20000, seed), noise = white(20000, seed + 1000);
        std::vector<float> y(x.size());
        for (std::size_t n = 0; n < y.size(); ++n) y[n] = x[n] + 0.5F * noise[n];
        const auto result = one(x, y, {.block = 1024, .delay_samples = 0});
        for (std::size_t bin = 50; bin < 450; bin += 10, ++count) {
            squares += std::pow(std::abs(std::complex<double>(result.h1[bin])) - 1.0, 2);
            stated += std::pow(static_cast<double>(result.random_error[bin]), 2);
        }
    }
    EXPECT_NEAR(std::sqrt(stated / count) / std::sqrt(squares / count), 1.0, 0.12);
}

TEST(DualChannel, is_refused_where_it_would_say_nothing) {
    const auto x = white(2000, 1);
    const std::vector<float> silent(2000, 0.0F), shorter(1000, 0.1F);
    const std::vector<std::span<const float>> good = {x}, bad = {shorter};
    EXPECT_FALSE(dual_channel(x, good, 48000.0, {.block = 2000, .delay_samples = 0}));   // one block only
    EXPECT_FALSE(dual_channel(x, good, 48000.0, {.block = 501, .delay_samples = 0}));
    EXPECT_FALSE(dual_channel(x, bad, 48000.0, {.block = 512, .delay_samples = 0}));
    EXPECT_FALSE(dual_channel(silent, good, 48000.0, {.block = 512, .delay_samples = 0}));
}

}  // namespace
}  // namespace proofwalk::signal
