#include "signal/loopback.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "signal/excitation.hpp"
#include "signal/measure.hpp"

namespace proofwalk::signal {
namespace {

// A chain that only delays (by a fraction of a sample too) and scales.
std::vector<float> delayed(const std::vector<float>& in, double samples, double gain) {
    std::vector<float> out(in.size(), 0.0F);
    const auto whole = static_cast<std::ptrdiff_t>(std::floor(samples));
    const double part = samples - static_cast<double>(whole);
    for (std::ptrdiff_t n = 0; n < static_cast<std::ptrdiff_t>(out.size()); ++n) {
        double sum = 0.0;
        for (std::ptrdiff_t k = -48; k <= 48; ++k) {
            const std::ptrdiff_t from = n - whole - k;
            if (from < 0 || from >= static_cast<std::ptrdiff_t>(in.size())) continue;
            const double x = static_cast<double>(k) - part;
            const double sinc = std::abs(x) < 1e-12 ? 1.0 : std::sin(std::numbers::pi * x) / (std::numbers::pi * x);
            const double window = std::abs(x) < 49.0 ? 0.5 + 0.5 * std::cos(std::numbers::pi * x / 49.0) : 0.0;
            sum += static_cast<double>(in[static_cast<std::size_t>(from)]) * sinc * window;
        }
        out[static_cast<std::size_t>(n)] = static_cast<float>(gain * sum);
    }
    return out;
}

TEST(Loopback, finds_latency_gain_and_polarity_of_a_clean_chain) {
    auto sweep = *exponential_sweep({.length_s = 1.0, .level_dbfs = -12.0});
    sweep.resize(72000, 0.0F);
    const auto input = delayed(sweep, 240.25, -0.5);
    Samples samples;
    samples.kind = TakeKind::loopback;
    samples.reference = sweep;
    samples.mics.push_back({input, {}, {}, 0.0});
    const auto evidence = measure(samples, Bands{});
    ASSERT_TRUE(evidence);
    const auto chain = chain_figures((*evidence)[0][0], 20.0, 20000.0);
    ASSERT_TRUE(chain);
    EXPECT_NEAR(chain->latency_s.value * 48000.0, 240.25, 0.002);
    EXPECT_NEAR(chain->gain_db, -6.02, 0.02);
    EXPECT_EQ(chain->polarity, -1);
    EXPECT_LT(chain->flatness_db, 0.1);
    EXPECT_LT(chain->flatness_deg, 1.0);
    EXPECT_GT(chain->signal_to_noise_db, 40.0);
}

TEST(Loopback, a_dead_chain_gives_nothing) {
    Evidence evidence;
    evidence.impulse.assign(1000, 0.0F);
    EXPECT_FALSE(chain_figures(evidence, 20.0, 20000.0));
    EXPECT_FALSE(chain_figures(Evidence{}, 20.0, 20000.0));
}

TEST(Loopback, spread_of_repeats) {
    ChainFigures one, two;
    one.latency_s.value = 0.010;
    two.latency_s.value = 0.012;
    const auto spread = latency_spread(std::vector{one, two});
    ASSERT_TRUE(spread);
    EXPECT_NEAR(spread->mean_s, 0.011, 1e-15);
    EXPECT_NEAR(spread->range_s, 0.002, 1e-15);
    EXPECT_FALSE(latency_spread(std::vector{one}));
}

}  // namespace
}  // namespace proofwalk::signal
