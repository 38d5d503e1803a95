// Each flag is raised by its defect, and none by clean takes.
#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <map>
#include <string>

#include "signal/quality.hpp"
#include "signal/room.hpp"
#include "signal/take.hpp"
#include "signal/take_quality.hpp"

namespace proofwalk::signal {
namespace {

using test::sweep_take;

// Direct sound, a floor bounce, a wall and a decaying tail of pulses; the noise differs from seed to seed.
test::Take room_take(unsigned seed) {
    static const test::Take clean = [] {
        std::vector<test::Pulse> pulses = {{0.02, 0.3}, {0.0231, 0.2}, {0.034, -0.12}};
        std::mt19937 random(5);
        std::normal_distribution<double> normal;
        for (int n = 0; n < 60; ++n) {
            const double t = 0.04 + 0.006 * n;
            pulses.push_back({t, 0.05 * normal(random) * std::exp(-6.9 * t / 0.5)});
        }
        return sweep_take(pulses, 0.0);
    }();
    test::Take take = clean;
    const auto noise = test::pink_like_noise(take.mic.size(), 6e-4, seed);
    for (std::size_t n = 0; n < noise.size(); ++n) take.mic[n] += noise[n];
    return take;
}

// Clean takes in many invented rooms; PROOFWALK_CLEAN_TAKES=1000 is the long form. An early reflection inside the gate is the
// room's own and no defect of the take.
TEST(Quality, clean_takes_raise_nothing) {
    const char* wanted = std::getenv("PROOFWALK_CLEAN_TAKES");
    const int takes = wanted != nullptr ? std::atoi(wanted) : 100;
    constexpr int rooms_each = 10;  // takes in one room, each with its own noise
    test::Take take;
    take.reference = test::test_sweep(2.0, -12.0, 48000.0, 3.0);
    test::RoomSettings settings;
    settings.samples = fast_size(take.reference.size());
    std::map<std::string, int> raised;
    for (int n = 0; n < takes; n += rooms_each) {
        const auto room = test::make_room(settings, 40000 + static_cast<std::uint64_t>(n));
        const auto heard = test::record(room, take.reference, {200.0, 0}, 1);
        double power = 0.0;
        for (const float s : heard) power += static_cast<double>(s) * static_cast<double>(s) / static_cast<double>(heard.size());
        for (int k = 0; k < rooms_each; ++k) {
            take.mic = heard;
            take.mic.resize(take.reference.size());
            const auto noise = test::pink_like_noise(take.mic.size(), 0.02 * std::sqrt(power), static_cast<unsigned>(n + k));
            for (std::size_t i = 0; i < take.mic.size(); ++i) take.mic[i] += noise[i];
            for (const auto word : words(take.reading().flags))
                if (word != "reflection-in-gate") ++raised[std::string(word)];
        }
    }
    for (const auto& [word, count] : raised) ADD_FAILURE() << word << " raised by " << count << " of " << takes << " clean takes";
}

TEST(Quality, clipping_at_and_below_full_scale) {
    auto take = room_take(1);
    float peak = 0.0F;
    for (const float s : take.mic) peak = std::max(peak, std::abs(s));
    auto clipped = take;
    for (float& s : clipped.mic) s = std::clamp(s * 1.5F / peak, -1.0F, 1.0F);
    EXPECT_TRUE(clipped.reading().flags.has(Flag::clipped));
    auto before = take;
    for (float& s : before.mic) s = std::clamp(s, -0.6F * peak, 0.6F * peak) * 0.7F;
    EXPECT_TRUE(before.reading().flags.has(Flag::clipped_before));
    EXPECT_FALSE(before.reading().flags.has(Flag::clipped));
}

TEST(Quality, lost_and_repeated_blocks) {
    auto lost = room_take(2);
    std::fill_n(lost.mic.begin() + 60000, 256, 0.0F);
    EXPECT_TRUE(lost.reading().flags.has(Flag::dropped));
    auto repeated = room_take(2);
    std::copy_n(repeated.mic.begin() + 60000, 512, repeated.mic.begin() + 60512);
    EXPECT_TRUE(repeated.reading().flags.has(Flag::dropped));
    auto told = room_take(2);
    Samples samples = told.samples();
    samples.device_lost_samples = true;
    EXPECT_TRUE((*measure(samples, Bands{}))[0][0].flags.has(Flag::dropped));
}

TEST(Quality, a_dead_channel_and_one_with_noise_alone) {
    auto dead = room_take(3);
    std::ranges::fill(dead.mic, 0.0F);
    EXPECT_TRUE(dead.reading().flags.has(Flag::dead_channel));
    EXPECT_FALSE(dead.reading().arrival_s);
    for (unsigned seed = 1; seed <= 10; ++seed) {
        auto silent = room_take(3);
        silent.mic = test::pink_like_noise(silent.mic.size(), 1e-3, seed);
        const auto reading = silent.reading();
        EXPECT_TRUE(reading.flags.has(Flag::no_signal) || reading.flags.has(Flag::weak_arrival)) << seed;
        EXPECT_FALSE(reading.arrival_s) << seed;
        EXPECT_FALSE(reading.polarity) << seed;
    }
}

TEST(Quality, hum_at_either_mains_frequency) {
    for (const float mains_hz : {50.0F, 60.0F}) {
        auto take = room_take(4);
        for (std::size_t n = 0; n < take.mic.size(); ++n) {
            const float t = 6.2831853F * mains_hz * static_cast<float>(n) / 48000.0F;
            take.mic[n] += 0.01F * std::sin(t) + 0.006F * std::sin(2.0F * t + 1.0F) + 0.004F * std::sin(3.0F * t);
        }
        EXPECT_TRUE(take.reading().flags.has(Flag::hum)) << mains_hz;
    }
}

TEST(Quality, a_knock_in_a_sweep) {
    auto take = room_take(5);
    for (std::size_t n = 0; n < 2000; ++n) take.mic[70000 + n] += 0.5F * std::exp(-static_cast<float>(n) / 300.0F) * std::sin(0.2F * static_cast<float>(n));
    EXPECT_TRUE(take.reading().flags.has(Flag::burst));
}

TEST(Quality, rounding_is_no_burst) {
    for (const double length_s : {1.0, 2.0}) {
        test::Take take;
        take.reference = test::test_sweep(length_s);
        take.mic = test::through(take.reference, {{0.02, 0.3}, {0.0231, 0.2}, {0.034, -0.12}}, 48000.0, 0.0);
        EXPECT_FALSE(take.reading().flags.has(Flag::burst)) << length_s;
    }
}

TEST(Quality, channels_exchanged) {
    auto take = room_take(6);
    std::swap(take.reference, take.mic);
    EXPECT_TRUE(take.evidence().flags.has(Flag::swapped_reference));
}

TEST(Quality, a_reference_with_a_bend) {
    auto take = room_take(7);
    // A box-like reference: treble taken off by a one-pole filter at 1 kHz.
    float state = 0.0F;
    for (float& s : take.reference) s = state += 0.13F * (s - state);
    EXPECT_TRUE(take.evidence().flags.has(Flag::reference_not_flat));
}

TEST(Quality, a_recording_that_ends_too_early) {
    std::vector<test::Pulse> pulses;
    for (int n = 0; n < 80; ++n) pulses.push_back({0.02 + 0.0116 * n, 0.2 * std::exp(-n / 50.0) * (n % 2 == 0 ? 1.0 : -1.0)});
    auto take = sweep_take(pulses, 1e-4);
    take.mic.resize(static_cast<std::size_t>(2.45 * 48000.0));
    take.reference.resize(take.mic.size());
    EXPECT_TRUE(take.reading().flags.has(Flag::tail_cut));
}

}  // namespace
}  // namespace proofwalk::signal
