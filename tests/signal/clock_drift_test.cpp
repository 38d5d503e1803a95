// Mics on a clock of their own: planted drifts come back in ppm, are taken off, and never turn a polarity unsaid.
#include "signal/clock_drift.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "signal/excitation.hpp"
#include "signal/measure.hpp"
#include "signal/resample.hpp"
#include "signal/room.hpp"

namespace proofwalk::signal {
namespace {

std::vector<float> padded(std::vector<float> played) {
    played.resize(test::RoomSettings{}.samples, 0.0F);
    return played;
}

Reading reading_of(const std::vector<float>& reference, const std::vector<float>& mic, TakeKind kind) {
    Samples samples;
    samples.kind = kind;
    samples.reference = reference;
    samples.mics.push_back({mic, {}, {}, 0.0});
    return read((*measure(samples, Bands{}))[0][0], Bands{});
}

std::vector<float> drifted(const std::vector<float>& mic, double ppm) { return resampled(mic, 1.0 - 1e-6 * ppm, mic.size()); }

TEST(ClockDrift, of_noise_comes_back_within_a_ppm) {
    const auto reference = padded(*periodic_pink_noise({.period_s = 4.0, .length_s = 4.0, .level_dbfs = -18.0, .seed = 5}));
    const auto room = test::make_room({}, 31);
    const auto mic = test::record(room, reference, {25.0, 0}, 31);
    const auto clean = reading_of(reference, mic, TakeKind::noise);
    EXPECT_FALSE(clean.flags.has(Flag::clock_drift));
    EXPECT_FALSE(clean.drift_ppm);
    for (const double ppm : {-200.0, -50.0, -5.0, 5.0, 50.0, 200.0}) {
        const auto reading = reading_of(reference, drifted(mic, ppm), TakeKind::noise);
        ASSERT_TRUE(reading.drift_ppm) << ppm;
        EXPECT_TRUE(reading.flags.has(Flag::clock_drift)) << ppm;
        EXPECT_NEAR(*reading.drift_ppm, ppm, 1.0);
        EXPECT_EQ(reading.polarity, room.polarity) << ppm;
        EXPECT_NEAR(reading.arrival_s->value, room.arrival_s, 25e-6) << ppm;
    }
    EXPECT_FALSE(reading_of(reference, drifted(mic, 0.5), TakeKind::noise).flags.has(Flag::clock_drift));
}

TEST(ClockDrift, of_noise_in_a_take_with_knocks) {
    const auto reference = padded(*periodic_pink_noise({.period_s = 4.0, .length_s = 4.0, .level_dbfs = -18.0, .seed = 5}));
    const auto room = test::make_room({}, 32);
    const auto mic = test::record(room, reference, {20.0, 3}, 32);
    EXPECT_FALSE(reading_of(reference, mic, TakeKind::noise).flags.has(Flag::clock_drift));
    const auto reading = reading_of(reference, drifted(mic, 80.0), TakeKind::noise);
    ASSERT_TRUE(reading.drift_ppm);
    EXPECT_NEAR(*reading.drift_ppm, 80.0, 3.0);
}

TEST(ClockDrift, of_a_sweep_is_taken_off_or_said) {
    const auto reference = padded(*exponential_sweep({.length_s = 4.0, .level_dbfs = -12.0}));
    int raised = 0, settled = 0, takes = 0;
    for (std::uint64_t seed = 9000; seed < 9004; ++seed) {
        const auto room = test::make_room({}, seed);
        const auto mic = test::record(room, reference, {20.0, 0}, seed);
        for (const double ppm : {0.0, 1.0, -5.0, 5.0}) {
            const auto reading = reading_of(reference, drifted(mic, ppm), TakeKind::sweep);
            EXPECT_FALSE(reading.flags.has(Flag::clock_drift)) << seed << ", " << ppm << " ppm";
            EXPECT_EQ(reading.polarity, room.polarity) << seed << ", " << ppm << " ppm";
        }
        for (const double ppm : {-200.0, -120.0, 120.0, 200.0}) {
            const auto reading = reading_of(reference, drifted(mic, ppm), TakeKind::sweep);
            ++takes;
            if (!reading.flags.has(Flag::clock_drift)) continue;
            ++raised;
            if (!reading.drift_ppm) {
                EXPECT_FALSE(reading.polarity) << seed << ", " << ppm << " ppm";
                continue;
            }
            ++settled;
            EXPECT_NEAR(*reading.drift_ppm, ppm, 20.0) << seed;
            EXPECT_EQ(reading.polarity.value_or(room.polarity), room.polarity) << seed << ", " << ppm << " ppm";
            EXPECT_LT(std::abs(reading.arrival_s->value - room.arrival_s), 4.0 * reading.arrival_s->u) << seed << ", " << ppm << " ppm";
        }
    }
    EXPECT_EQ(raised, takes);
    EXPECT_GE(settled, takes / 2);
}

TEST(ClockDrift, is_not_asked_of_a_box_without_treble) {
    const auto reference = padded(*exponential_sweep({.length_s = 4.0, .level_dbfs = -12.0}));
    test::RoomSettings settings;
    settings.dead_high = true;
    const auto room = test::make_room(settings, 33);
    const auto reading = reading_of(reference, drifted(test::record(room, reference, {30.0, 0}, 33), 150.0), TakeKind::sweep);
    EXPECT_FALSE(reading.flags.has(Flag::clock_drift));
}

}  // namespace
}  // namespace proofwalk::signal
