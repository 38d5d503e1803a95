// Properties of the whole path from samples to readings.
#include "signal/measure.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "signal/take.hpp"
#include "units/convert.hpp"

namespace proofwalk::signal {
namespace {

using test::Pulse;
using test::sweep_take;

TEST(Measure, finds_delay_level_and_sign_of_a_pure_delay) {
    for (const double at_s : {0.010, 0.0312345, 0.2000071}) {
        const auto reading = sweep_take({{at_s, -0.25}}).reading();
        ASSERT_TRUE(reading.arrival_s && reading.aim_band_db);
        EXPECT_NEAR(reading.arrival_s->value, at_s, 3e-6);
        EXPECT_EQ(reading.polarity, -1);
        EXPECT_NEAR(reading.aim_band_db->value, amplitude_db(0.25), 0.03);
        EXPECT_TRUE(reading.flags.empty()) << reading.flags.bits();
        for (std::size_t band = 10; band < 29; ++band) EXPECT_NEAR(reading.direct_db[band], amplitude_db(0.25), 0.15) << band;
    }
}

TEST(Measure, gain_moves_levels_and_nothing_else) {
    const auto quiet = sweep_take({{0.02, 0.1}, {0.027, 0.05}}, 0.0).reading(), loud = sweep_take({{0.02, 0.4}, {0.027, 0.2}}, 0.0).reading();
    EXPECT_NEAR(loud.aim_band_db->value - quiet.aim_band_db->value, amplitude_db(4.0), 1e-3);
    EXPECT_NEAR(loud.arrival_s->value, quiet.arrival_s->value, 1e-7);
    EXPECT_EQ(loud.polarity, quiet.polarity);
}

TEST(Measure, a_stronger_later_reflection_does_not_take_the_arrival) {
    const auto reading = sweep_take({{0.020, 0.1}, {0.0232, 0.3}, {0.031, -0.25}}).reading();
    EXPECT_NEAR(reading.arrival_s->value, 0.020, 5e-6);
    EXPECT_EQ(reading.polarity, 1);
    EXPECT_NEAR(reading.aim_band_db->value, -20.0, 0.1);
    ASSERT_FALSE(reading.reflections.empty());
    EXPECT_NEAR(reading.reflections.front().after_s, 0.0032, 5e-5);
    EXPECT_NEAR(reading.reflections.front().level_db, amplitude_db(3.0), 0.5);
}

TEST(Measure, a_floor_bounce_inside_the_gate_is_taken_off) {
    const auto reading = sweep_take({{0.030, 0.1}, {0.0306, 0.09}}).reading();
    EXPECT_NEAR(reading.arrival_s->value, 0.030, 1e-5);
    EXPECT_NEAR(reading.aim_band_db->value, -20.0, 0.3);
    EXPECT_GT(reading.aim_band_db->u, 0.03);
}

// A ceiling's reflection at twice the floor's delay had been taken for the floor's return and left in the gate.
TEST(Measure, a_second_reflection_at_twice_the_delay_of_the_bounce_is_kept_out_of_the_gate) {
    const Bands bands{2000.0, 8000.0, 60.0, 18000.0, {}};
    const double direct_s = 0.03, bounce_s = 0.65e-3;
    const Reading alone = test::sweep_take({{direct_s, 0.5}}).reading(bands);
    const Reading both = test::sweep_take({{direct_s, 0.5}, {direct_s + bounce_s, 0.4}, {direct_s + 2.0 * bounce_s, 0.25}}).reading(bands);
    ASSERT_TRUE(alone.aim_band_db && both.aim_band_db);
    EXPECT_NEAR(both.aim_band_db->value, alone.aim_band_db->value, 0.3);
    // Bands that the time before the bounce resolves have nothing of it at all.
    for (std::size_t band = 0; band < band_count; ++band) {
        if (midband_hz(band) < 4500.0 || midband_hz(band) > 17000.0) continue;
        EXPECT_NEAR(both.direct_db[band], alone.direct_db[band], 0.2) << nominal_hz[band];
    }
}

TEST(Measure, other_sample_rates_give_the_same_figures) {
    for (const double rate_hz : {44100.0, 96000.0, 192000.0}) {
        test::Take take;
        take.rate_hz = rate_hz;
        take.reference = test::test_sweep(2.0, -12.0, rate_hz);
        take.mic = test::through(take.reference, {{0.025, 0.2}}, rate_hz, 1e-4);
        const auto reading = take.reading();
        EXPECT_NEAR(reading.arrival_s->value, 0.025, 4e-6) << rate_hz;
        EXPECT_NEAR(reading.aim_band_db->value, amplitude_db(0.2), 0.05) << rate_hz;
    }
}

TEST(Measure, noise_takes_agree_with_sweeps_and_carry_coherence) {
    test::Take take;
    take.kind = TakeKind::noise;
    take.reference = *periodic_pink_noise({.period_s = 4.0, .length_s = 4.0, .level_dbfs = -18.0, .seed = 5});
    take.reference.resize(240000, 0.0F);
    take.mic = test::through(take.reference, {{0.020, 0.2}, {0.0245, -0.15}, {0.060, 0.1}}, 48000.0, 2e-3);
    const auto reading = take.reading();
    EXPECT_NEAR(reading.arrival_s->value, 0.020, 6e-6);
    EXPECT_EQ(reading.polarity, 1);
    EXPECT_NEAR(reading.aim_band_db->value, amplitude_db(0.2), 0.1);
    EXPECT_GT(reading.coherence[20], 0.9);
    EXPECT_FALSE(reading.flags.has(Flag::burst));
    // A shout over half a second spoils neither figure.
    for (std::size_t n = 90000; n < 114000; ++n) take.mic[n] += 0.3F * std::sin(0.05F * static_cast<float>(n)) * std::sin(0.0013F * static_cast<float>(n));
    const auto shouted = take.reading();
    EXPECT_TRUE(shouted.flags.has(Flag::burst));
    EXPECT_NEAR(shouted.arrival_s->value, 0.020, 1e-5);
    EXPECT_NEAR(shouted.aim_band_db->value, amplitude_db(0.2), 0.2);
}

TEST(Measure, without_a_reference_arrivals_count_against_each_other) {
    const auto played = *exponential_sweep({.length_s = 2.0, .level_dbfs = -12.0});
    std::vector<float> whole(20000, 0.0F);  // an unknown time before playback
    whole.insert(whole.end(), played.begin(), played.end());
    whole.resize(170000, 0.0F);
    const auto near = test::through(whole, {{0.0100, 0.3}}, 48000.0, 1e-4, 1), far = test::through(whole, {{0.0350, 0.1}}, 48000.0, 1e-4, 2);
    Samples samples;
    samples.played = played;
    samples.mics = {{far, {}, {}, 0.0}, {near, {}, {}, 0.0}};
    const auto all = measure(samples, Bands{});
    ASSERT_TRUE(all);
    const auto first = read((*all)[0][0], Bands{}), second = read((*all)[0][1], Bands{});
    EXPECT_FALSE(first.absolute);
    EXPECT_TRUE(first.flags.has(Flag::no_reference));
    EXPECT_NEAR(first.arrival_s->value - second.arrival_s->value, 0.025, 5e-6);
    EXPECT_NEAR(second.arrival_s->value, 0.0, 1e-6);
}

TEST(Measure, overlapped_sweeps_separate_into_their_solo_takes) {
    const std::vector<double> starts = {0.1, 1.4};
    const auto solo = sweep_take({{0.020, 0.2}, {0.025, 0.1}}), other = sweep_take({{0.031, -0.1}, {0.04, 0.05}});
    test::Take both = solo;
    const auto shift = static_cast<std::size_t>(1.3 * 48000.0);
    both.reference.resize(240000, 0.0F);
    both.mic.resize(240000, 0.0F);
    for (std::size_t n = 0; n + shift < both.mic.size() && n < other.mic.size(); ++n) both.mic[n + shift] += other.mic[n];
    Samples samples = both.samples();
    samples.starts_s = starts;
    const auto all = measure(samples, Bands{});
    ASSERT_TRUE(all);
    ASSERT_EQ(all->size(), 2u);
    const auto first = read((*all)[0][0], Bands{}), second = read((*all)[1][0], Bands{});
    const auto first_alone = solo.reading(), second_alone = other.reading();
    EXPECT_NEAR(first.arrival_s->value, first_alone.arrival_s->value, 5e-6);
    EXPECT_NEAR(second.arrival_s->value, second_alone.arrival_s->value, 5e-6);
    EXPECT_NEAR(first.aim_band_db->value, first_alone.aim_band_db->value, 0.1);
    EXPECT_NEAR(second.aim_band_db->value, second_alone.aim_band_db->value, 0.1);
    EXPECT_EQ(second.polarity, -1);
}

TEST(Measure, distortion_is_recovered_at_every_size) {
    for (const double pct : {0.1, 1.0, 10.0}) {
        test::Take take;
        take.reference = test::test_sweep(4.0, -12.0, 48000.0, 6.0);
        const double a = amplitude_of_db(-12.0);
        // x + k2 x^2 gives a second harmonic of k2 a / 2 re the fundamental, x + k3 x^3 a third of about k3 a^2 / 4.
        const double k2 = 2.0 * pct / 100.0 / a, k3 = 4.0 * pct / 100.0 / (a * a);
        std::vector<float> bent = take.reference;
        for (float& s : bent) {
            const auto x = static_cast<double>(s);
            s = static_cast<float>(x + k2 * x * x + k3 * (x * x * x - 0.75 * a * a * x));
        }
        take.mic = test::through(bent, {{0.02, 0.5}}, 48000.0, a * 0.5 / std::sqrt(2.0) * amplitude_of_db(-70.0));
        const Bands bands{500.0, 3000.0, 60.0, 18000.0, {}};
        const auto evidence = take.evidence(bands);
        ASSERT_TRUE(evidence.distortion2_pct && evidence.distortion3_pct) << pct;
        EXPECT_NEAR(*evidence.distortion2_pct / pct, 1.0, 0.05) << pct;
        EXPECT_NEAR(*evidence.distortion3_pct / pct, 1.0, 0.05) << pct;
    }
}

TEST(Measure, a_mic_response_and_a_calibrator_are_taken_into_account) {
    auto take = sweep_take({{0.02, 0.1}});
    Samples samples = take.samples();
    samples.mics[0].response = MicResponse{{100.0, 1000.0, 10000.0}, {3.0, 3.0, 3.0}};
    EXPECT_NEAR(read((*measure(samples, Bands{}))[0][0], Bands{}).aim_band_db->value, -23.0, 0.05);
    samples.mics[0].response.reset();
    samples.mics[0].pascal_per_fs = 10.0;
    const auto evidence = (*measure(samples, Bands{}))[0][0];
    EXPECT_TRUE(evidence.calibrated);
    // Per band: rms pressure of the signal as played is its level (dBFS sine) - 3.01 dB, times 0.1 times 10 Pa.
    const auto reading = read(evidence, Bands{});
    EXPECT_NEAR(reading.full_db[17], evidence.played_db[17] - 3.0103 + 93.979, 0.1);
    samples.mics[0].latency_s = 0.004;
    EXPECT_NEAR(read((*measure(samples, Bands{}))[0][0], Bands{}).arrival_s->value, 0.016, 5e-6);
}

TEST(Measure, what_cannot_be_used_is_refused_with_a_reason) {
    const std::vector<float> silent(48000, 0.0F), short_one(100, 0.1F);
    auto take = sweep_take({{0.02, 0.1}});
    Samples samples = take.samples();
    samples.reference = silent;
    EXPECT_FALSE(measure(samples, Bands{}));
    samples = take.samples();
    samples.mics.clear();
    EXPECT_FALSE(measure(samples, Bands{}));
    samples = take.samples();
    samples.mics[0].samples = short_one;
    EXPECT_FALSE(measure(samples, Bands{}));
    samples = take.samples();
    samples.rate_hz = 0.0;
    EXPECT_FALSE(measure(samples, Bands{}));
    take.mic[500] = std::nanf("");
    EXPECT_FALSE(measure(take.samples(), Bands{}));
}

TEST(Measure, evidence_packs_to_the_bit_and_refuses_other_bytes) {
    const auto evidence = sweep_take({{0.02, 0.1}}).evidence();
    const auto bytes = pack(evidence);
    const auto again = unpack(bytes);
    ASSERT_TRUE(again);
    EXPECT_EQ(pack(*again), bytes);
    EXPECT_EQ(again->impulse, evidence.impulse);
    EXPECT_EQ(read(*again, Bands{}).arrival_s, read(evidence, Bands{}).arrival_s);
    for (const std::size_t cut : {std::size_t{0}, std::size_t{3}, std::size_t{20}, bytes.size() / 2, bytes.size() - 1})
        EXPECT_FALSE(unpack(std::span(bytes).first(cut))) << cut;
    auto longer = bytes;
    longer.push_back(std::byte{0});
    EXPECT_FALSE(unpack(longer));
    auto other = bytes;
    other[0] = std::byte{'x'};
    EXPECT_FALSE(unpack(other));
    auto broken = bytes;
    for (std::size_t n = 8; n < 16; ++n) broken[n] = std::byte{0xff};  // a rate that is no number
    EXPECT_FALSE(unpack(broken));
}

TEST(Measure, an_empty_response_reads_as_nothing) {
    const auto reading = read(Evidence{}, Bands{});
    EXPECT_FALSE(reading.arrival_s);
    EXPECT_FALSE(reading.aim_band_db);
    EXPECT_TRUE(magnitude_curve(Evidence{}, reading, 3.0).hz.empty());
}

TEST(Measure, the_magnitude_curve_of_a_pure_delay_is_flat) {
    const auto take = sweep_take({{0.02, 0.1}});
    const auto evidence = take.evidence();
    const auto curve = magnitude_curve(evidence, read(evidence, Bands{}), 3.0);
    ASSERT_GT(curve.hz.size(), 40u);
    for (std::size_t n = 0; n < curve.hz.size(); ++n)
        EXPECT_TRUE(curve.hz[n] < 40.0 || curve.hz[n] > 16000.0 || std::abs(curve.db[n] + 20.0) < 0.3) << curve.hz[n] << " Hz: " << curve.db[n];
}

}  // namespace
}  // namespace proofwalk::signal
