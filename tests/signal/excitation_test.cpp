#include "signal/excitation.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

namespace proofwalk::signal {
namespace {

TEST(Sweep, has_the_stated_length_level_and_rising_frequency) {
    const auto sweep = exponential_sweep({.length_s = 2.0, .level_dbfs = -20.0});
    ASSERT_TRUE(sweep);
    EXPECT_EQ(sweep->size(), 96000u);
    const float peak = *std::ranges::max_element(*sweep);
    EXPECT_NEAR(peak, 0.1, 1e-4);
    const auto crossings = [&](std::size_t from, std::size_t to) {
        int count = 0;
        for (std::size_t n = from + 1; n < to; ++n) count += std::signbit((*sweep)[n]) != std::signbit((*sweep)[n - 1]) ? 1 : 0;
        return count;
    };
    // Half way through an exponential sweep stands the geometric mean of its limits: 632 Hz, two crossings a period.
    EXPECT_NEAR(crossings(46000, 50000) / 2.0 / (4000 / 48000.0), 632.5, 15.0);
}

TEST(Sweep, is_refused_with_a_reason) {
    EXPECT_FALSE(exponential_sweep({.start_hz = 0.0}));
    EXPECT_FALSE(exponential_sweep({.start_hz = 100.0, .stop_hz = 50.0}));
    EXPECT_FALSE(exponential_sweep({.stop_hz = 30000.0}));
    EXPECT_FALSE(exponential_sweep({.length_s = -1.0}));
    EXPECT_FALSE(exponential_sweep({.length_s = std::nan("")}));
    EXPECT_FALSE(exponential_sweep({.level_dbfs = 3.0}));
    EXPECT_FALSE(exponential_sweep({.length_s = 0.01, .fade_in_s = 0.02}));
}

TEST(PinkNoise, repeats_to_the_bit_and_has_the_stated_level) {
    const auto noise = periodic_pink_noise({.period_s = 0.5, .length_s = 2.2, .level_dbfs = -20.0, .seed = 3});
    ASSERT_TRUE(noise);
    ASSERT_EQ(noise->size(), 96000u);
    for (std::size_t n = 0; n + 24000 < noise->size(); ++n) ASSERT_EQ((*noise)[n], (*noise)[n + 24000]);
    double power = 0.0;
    for (float sample : *noise) power += static_cast<double>(sample) * static_cast<double>(sample);
    EXPECT_NEAR(10.0 * std::log10(2.0 * power / 96000.0), -20.0, 0.01);
}

TEST(PinkNoise, is_refused_when_it_would_clip_or_not_repeat) {
    EXPECT_FALSE(periodic_pink_noise({.level_dbfs = 0.0}));
    EXPECT_FALSE(periodic_pink_noise({.period_s = 1.0, .length_s = 0.5}));
    EXPECT_FALSE(periodic_pink_noise({.period_s = 0.0}));
}

}  // namespace
}  // namespace proofwalk::signal
