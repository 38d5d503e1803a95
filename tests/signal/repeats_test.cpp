#include "signal/repeats.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

namespace proofwalk::signal {
namespace {

std::vector<std::vector<float>> repeats_with_noise(std::size_t count) {
    std::vector<std::vector<float>> repeats(count, std::vector<float>(48000));
    std::mt19937 random(4);
    std::normal_distribution<float> normal;
    for (auto& repeat : repeats)
        for (std::size_t n = 0; n < repeat.size(); ++n) repeat[n] = 0.3F * std::sin(0.05F * static_cast<float>(n)) + 0.01F * normal(random);
    return repeats;
}

AveragedRepeats averaged(const std::vector<std::vector<float>>& repeats) {
    const std::vector<std::span<const float>> spans(repeats.begin(), repeats.end());
    return *averaged_repeats(spans, 48000.0);
}

TEST(Repeats, clean_ones_are_all_used_and_noise_falls_by_their_number) {
    const auto repeats = repeats_with_noise(8);
    const auto result = averaged(repeats);
    EXPECT_EQ(result.used.size(), 8u);
    EXPECT_TRUE(result.rejected.empty());
    double power = 0.0;
    for (std::size_t n = 0; n < result.mean.size(); ++n)
        power += std::pow(static_cast<double>(result.mean[n]) - 0.3 * std::sin(static_cast<double>(0.05F * static_cast<float>(n))), 2);
    EXPECT_NEAR(std::sqrt(power / static_cast<double>(result.mean.size())), 0.01 / std::sqrt(8.0), 2e-4);
}

TEST(Repeats, the_one_that_a_burst_hit_is_left_out_and_named) {
    for (const std::size_t count : {std::size_t{2}, std::size_t{3}, std::size_t{6}}) {
        auto repeats = repeats_with_noise(count);
        for (std::size_t n = 24000; n < 24600; ++n) repeats[1][n] += 0.4F * std::sin(0.3F * static_cast<float>(n));
        const auto result = averaged(repeats);
        ASSERT_EQ(result.rejected.size(), 1u) << count;
        EXPECT_EQ(result.rejected[0].repeat, 1u);
        EXPECT_NEAR(result.rejected[0].at_s, 0.5, 0.02);
        EXPECT_NE(result.rejected[0].why.find("repeat 2"), std::string::npos);
    }
}

TEST(Repeats, one_alone_is_kept_and_unequal_ones_are_refused) {
    const auto repeats = repeats_with_noise(1);
    EXPECT_EQ(averaged(repeats).used.size(), 1u);
    const std::vector<float> a(100, 0.1F), b(99, 0.1F);
    const std::vector<std::span<const float>> unequal = {a, b};
    EXPECT_FALSE(averaged_repeats(unequal, 48000.0));
    EXPECT_FALSE(averaged_repeats({}, 48000.0));
}

}  // namespace
}  // namespace proofwalk::signal
