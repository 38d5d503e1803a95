#include <gmock/gmock.h>

#include <cmath>
#include <numbers>
#include <random>

#include "capture/readiness.hpp"

namespace proofwalk::capture {
namespace {

using testing::HasSubstr;
constexpr double rate_hz = 48000.0;

std::vector<float> noise(double rms, std::size_t length, unsigned seed = 1) {
    std::mt19937 random(seed);
    std::normal_distribution<float> normal(0.0f, static_cast<float>(rms));
    std::vector<float> samples(length);
    for (auto& sample : samples) sample = normal(random);
    return samples;
}

void add_tone(std::vector<float>& samples, double hz, double amplitude, double phase = 0.3) {
    for (std::size_t n = 0; n < samples.size(); ++n)
        samples[n] += static_cast<float>(amplitude * std::sin(2.0 * std::numbers::pi * hz * static_cast<double>(n) / rate_hz + phase));
}

TEST(ChannelState, LevelsAreThoseOfASine) {
    std::vector<float> samples(96000, 0.0f);
    add_tone(samples, 1000.0, 0.1);
    const auto state = channel_state(samples, rate_hz);
    EXPECT_NEAR(state.peak_dbfs, -20.0, 0.01);
    EXPECT_NEAR(state.noise_dbfs, -20.0, 0.01);
    EXPECT_FALSE(state.dead || state.clipped || state.hum_hz);
    EXPECT_NEAR(state.bands_dbfs[17], -20.0, 0.2);
}

TEST(ChannelState, ADeadAndAClippedInputAreKnown) {
    EXPECT_TRUE(channel_state(std::vector<float>(48000, 0.0f), rate_hz).dead);
    auto samples = noise(1.0, 48000);
    for (auto& sample : samples) sample = std::clamp(sample, -1.0f, 1.0f);
    EXPECT_TRUE(channel_state(samples, rate_hz).clipped);
    EXPECT_FALSE(channel_state(noise(0.001, 100), rate_hz).bands_dbfs.has(17)) << "too short for bands";
    EXPECT_TRUE(channel_state({}, rate_hz).dead);
}

TEST(ChannelState, MainsHumIsFoundAndItsCountryTold) {
    for (const double mains : {50.0, 60.0}) {
        auto samples = noise(1e-3, 96000);
        add_tone(samples, mains, 0.004);
        add_tone(samples, 3.0 * mains, 0.003);
        const auto state = channel_state(samples, rate_hz);
        ASSERT_TRUE(state.hum_hz.has_value());
        EXPECT_EQ(*state.hum_hz, mains);
        EXPECT_NEAR(state.hum_dbfs, 20.0 * std::log10(0.005), 0.5);
    }
    EXPECT_FALSE(channel_state(noise(1e-3, 96000), rate_hz).hum_hz.has_value());
    auto music = noise(1e-3, 96000);
    add_tone(music, 440.0, 0.01);
    EXPECT_FALSE(channel_state(music, rate_hz).hum_hz.has_value());
}

TEST(Feedback, AGrowingToneIsFoundAndASteadyOneIsNot) {
    FeedbackWatch growing, steady, shouting;
    std::optional<double> found;
    int pieces = 0;
    for (; pieces < 12 && !found; ++pieces) {
        auto piece = noise(1e-3, 12000, static_cast<unsigned>(pieces) + 1);
        add_tone(piece, 1730.0, 2e-3 * std::pow(10.0, 5.0 * pieces / 20.0), 0.7 * pieces);
        found = growing.hear(piece, rate_hz);
    }
    ASSERT_TRUE(found.has_value());
    EXPECT_NEAR(*found, 1730.0, 10.0);
    EXPECT_LE(pieces, 6);
    for (int n = 0; n < 12; ++n) {
        auto piece = noise(1e-3, 12000, static_cast<unsigned>(n) + 1);
        add_tone(piece, 1730.0, 0.05);
        EXPECT_FALSE(steady.hear(piece, rate_hz).has_value());
        EXPECT_FALSE(shouting.hear(noise(1e-3 * std::pow(10.0, n / 5.0), 12000, static_cast<unsigned>(n) + 50), rate_hz).has_value());
    }
}

TEST(Readiness, AQuietRoomIsOffered) {
    const std::vector<ChannelState> states = {channel_state(noise(1e-4, 96000), rate_hz)};
    const std::vector<std::string> names = {"m1"};
    const auto ready = readiness(WantedTake{}, states, names);
    EXPECT_TRUE(ready.offered);
    EXPECT_TRUE(ready.says.empty());
    EXPECT_GT(ready.noise_u_db, 0.0);
}

// What it asks for is enough, and a little less is not.
TEST(Readiness, SaysHowMuchLongerLouderOrQuieter) {
    WantedTake take;
    take.signal_dbfs = -56.0;
    take.longest_s = 120.0;
    take.louder_db = 30.0;
    const std::vector<ChannelState> states = {channel_state(noise(1e-4, 96000), rate_hz), channel_state(noise(0.01, 96000, 2), rate_hz)};
    const std::vector<std::string> names = {"m1", "m2"};
    const auto now = readiness(take, states, names);
    ASSERT_FALSE(now.offered);
    ASSERT_TRUE(now.louder_db && now.sweep_s && now.quieter_db);
    EXPECT_THAT(now.says.back(), HasSubstr("too loud for 0.20 dB"));
    EXPECT_THAT(now.says.back(), HasSubstr("dB louder"));
    auto louder = take;
    louder.signal_dbfs += *now.louder_db + 0.01;
    EXPECT_TRUE(readiness(louder, states, names).offered);
    louder.signal_dbfs -= 0.1;
    EXPECT_FALSE(readiness(louder, states, names).offered);
    auto longer = take;
    longer.sweep_s = *now.sweep_s * 1.001;
    EXPECT_TRUE(readiness(longer, states, names).offered);
    take.louder_db = 0.0;
    take.longest_s = take.sweep_s;
    const auto wait = readiness(take, states, names);
    EXPECT_FALSE(wait.louder_db || wait.sweep_s);
    EXPECT_THAT(wait.says.back(), HasSubstr("wait until it is"));
}

TEST(Readiness, AMicThatHearsNothingBlocksTheTake) {
    const std::vector<ChannelState> states = {channel_state(std::vector<float>(48000, 0.0f), rate_hz)};
    const std::vector<std::string> names = {"m1"};
    const auto ready = readiness(WantedTake{}, states, names);
    EXPECT_FALSE(ready.offered);
    ASSERT_EQ(ready.says.size(), 1u);
    EXPECT_EQ(ready.says[0], "m1: hears nothing at all; check its cable and input");
    EXPECT_FALSE(readiness(WantedTake{}, {}, {}).offered);
}

// The stated uncertainty against the spread of levels over many noisy takes: gated band-limited direct sound plus noise.
TEST(Readiness, ExpectedUncertaintyCoversTheSpread) {
    // In the model's own terms: a pulse of energy 1 in n = 2 B g degrees of freedom, noise of energy 1/S spread over them.
    WantedTake take;
    const double dof = 2.0 * (take.aim_high_hz - take.aim_low_hz) * take.gate_s;
    std::mt19937 random(3);
    std::normal_distribution<double> normal;
    for (const double noise_dbfs : {-30.0, -20.0, -12.0}) {
        const double in_band_s = take.sweep_s * std::log(4.0) / std::log(take.stop_hz / take.start_hz);
        const double ratio = std::pow(10.0, (take.signal_dbfs - noise_dbfs) / 10.0) * in_band_s / take.gate_s;
        double squares = 0.0;
        constexpr int trials = 4000;
        for (int trial = 0; trial < trials; ++trial) {
            double energy = 0.0;
            for (int d = 0; d < static_cast<int>(dof); ++d) {
                const double amplitude = (d == 0 ? 1.0 : 0.0) + normal(random) * std::sqrt(1.0 / (ratio * dof));
                energy += amplitude * amplitude;
            }
            squares += std::pow(10.0 * std::log10(energy), 2.0);
        }
        const double spread = std::sqrt(squares / trials), stated = expected_noise_u_db(take, noise_dbfs);
        EXPECT_GE(stated, 0.9 * spread) << noise_dbfs;
        EXPECT_LE(stated, 3.0 * spread) << noise_dbfs;
    }
}

TEST(Readiness, ARoomThatDiesAwayIsWaitedForSoManySeconds) {
    // 60 dB in 2 s.
    auto samples = noise(0.1, 28800);
    for (std::size_t n = 0; n < samples.size(); ++n) samples[n] *= static_cast<float>(std::pow(10.0, -30.0 * static_cast<double>(n) / rate_hz / 20.0));
    const auto slope = settling_db_per_s(samples, rate_hz);
    ASSERT_TRUE(slope.has_value());
    EXPECT_NEAR(*slope, -30.0, 2.0);
    EXPECT_EQ(settling_db_per_s(noise(0.1, 28800), rate_hz), std::nullopt) << "steady";
    EXPECT_EQ(settling_db_per_s(std::vector<float>(28800, 0.0f), rate_hz), std::nullopt);
    EXPECT_EQ(settling_db_per_s(noise(0.1, 1000), rate_hz), std::nullopt) << "too short";
    auto knock = noise(1e-4, 28800);
    for (std::size_t n = 9600; n < 12000; ++n) knock[n] *= 1000.0f;
    EXPECT_EQ(settling_db_per_s(knock, rate_hz), std::nullopt) << "one knock is no trend";

    WantedTake take;
    take.signal_dbfs = -60.0;
    take.settling_db_per_s = *slope;
    const std::vector<ChannelState> states = {channel_state(noise(0.03, 48000), rate_hz)};
    const std::vector<std::string> names = {"mic m1"};
    const Readiness ready = readiness(take, states, names);
    ASSERT_TRUE(ready.quieter_db && ready.wait_s);
    EXPECT_NEAR(*ready.wait_s, *ready.quieter_db / 30.0, 0.1 * *ready.wait_s);
    EXPECT_THAT(ready.says.back(), HasSubstr("wait "));
    EXPECT_THAT(ready.says.back(), HasSubstr(" s until it is "));
}

}  // namespace
}  // namespace proofwalk::capture
