#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "capture/likeness.hpp"
#include "capture/stream_damage.hpp"
#include "signal/excitation.hpp"
#include "signal/resample.hpp"

namespace proofwalk::capture {
namespace {

std::vector<float> sweep(double length_s) {
    signal::SweepSettings settings;
    settings.length_s = length_s;
    settings.start_hz = 50.0;
    settings.stop_hz = 16000.0;
    auto samples = *signal::exponential_sweep(settings);
    samples.insert(samples.begin(), 4800, 0.0f);
    samples.insert(samples.end(), 9600, 0.0f);
    return samples;
}

std::vector<float> delayed(const std::vector<float>& signal, std::size_t by, float gain, float noise, unsigned seed = 1) {
    std::vector<float> samples(signal.size() + 4800);
    for (auto& sample : samples) {
        seed = seed * 1664525u + 1013904223u;
        sample = noise * (static_cast<float>(seed >> 8) / 8388608.0f - 1.0f);
    }
    for (std::size_t n = 0; n < signal.size() && n + by < samples.size(); ++n) samples[n + by] += gain * signal[n];
    return samples;
}

// A mic in a reverberant room: the direct sound and a decaying row of echoes.
std::vector<float> in_a_room(const std::vector<float>& signal, std::size_t by) {
    auto samples = delayed(signal, by, 0.3f, 1e-4f, 7);
    unsigned seed = 5;
    for (int echo = 1; echo < 60; ++echo) {
        seed = seed * 1664525u + 1013904223u;
        const std::size_t later = by + static_cast<std::size_t>(echo) * 67 + (seed >> 26);
        const float gain = 0.25f * std::exp(-0.04f * static_cast<float>(echo)) * ((seed >> 13) & 1u ? 1.0f : -1.0f);
        for (std::size_t n = 0; n < signal.size() && n + later < samples.size(); ++n) samples[n + later] += gain * signal[n];
    }
    return samples;
}

TEST(Likeness, OfAReferenceIsOneAndItsDelayIsRight) {
    const auto signal = sweep(1.0);
    const auto found = likeness(signal, delayed(signal, 1024, -0.8f, 1e-5f));
    ASSERT_TRUE(found.has_value());
    EXPECT_GT(found->share, 0.999);
    EXPECT_NEAR(found->delay_samples, 1024.0, 0.05);
    EXPECT_FALSE(likeness(signal, std::vector<float>(1000, 0.0f)).has_value());
    EXPECT_FALSE(likeness({}, signal).has_value());
}

TEST(Likeness, ABlockLostWithoutATraceIsFound) {
    const auto signal = sweep(1.0);
    const ReferenceProbe probe(signal, signal.size() + 4800);
    const auto lost_between_s = [&](const std::vector<float>& reference) {
        Recording take;
        take.sheet.reference = 1;
        take.channels = {reference};
        return probe.check(take).moved_s;
    };
    const auto whole = delayed(signal, 1024, 0.5f, 1e-4f);
    EXPECT_EQ(lost_between_s(whole), std::nullopt);
    for (const std::ptrdiff_t block : {64, 256, 1024}) {
        auto lost = whole;
        lost.erase(lost.begin() + 30000, lost.begin() + 30000 + block);
        const auto moved_s = lost_between_s(lost);
        ASSERT_TRUE(moved_s.has_value()) << block;
        EXPECT_NEAR(*moved_s * 48000.0, -static_cast<double>(block), 2.0);
    }
    EXPECT_EQ(lost_between_s(delayed(signal, 0, 0.0f, 0.1f)), std::nullopt) << "no reference, no statement";
}

TEST(Likeness, ClockDriftIsFoundToOnePpm) {
    const auto signal = sweep(2.0);
    const auto reference = delayed(signal, 777, 0.5f, 1e-4f);
    for (const double ppm : {-250.0, -37.0, 0.0, 12.5, 100.0, 240.0}) {
        const auto recorded = signal::resampled(reference, 1.0 / (1.0 + ppm * 1e-6), reference.size() + 200);
        const auto found = clock_drift_ppm(signal, recorded, 48000.0);
        ASSERT_TRUE(found.has_value()) << ppm;
        EXPECT_NEAR(*found, ppm, 1.0);
    }
    const auto far_off = clock_drift_ppm(signal, signal::resampled(reference, 1.0 / (1.0 + 600e-6), reference.size() + 200), 48000.0);
    if (far_off.has_value()) {
        EXPECT_NEAR(*far_off, 600.0, 1.0) << "better none than a wrong figure";
    }
    EXPECT_EQ(clock_drift_ppm(signal, delayed(signal, 0, 0.0f, 0.1f), 48000.0), std::nullopt);
}

TEST(Likeness, ASwappedAndAMissingReferenceAreNamed) {
    Recording take;
    take.sheet.label = "t";
    take.sheet.reference = 1;
    take.sheet.mics = {{2, "m1", "p1"}};
    take.played = sweep(1.0);
    take.channels = {delayed(take.played, 480, 0.5f, 1e-5f), in_a_room(take.played, 900)};
    EXPECT_EQ(check_reference(take).state, ReferenceState::right);
    EXPECT_LT(likeness(take.played, take.channels[1])->share, 0.8);
    std::swap(take.channels[0], take.channels[1]);
    const auto swapped = check_reference(take);
    EXPECT_EQ(swapped.state, ReferenceState::swapped);
    EXPECT_EQ(swapped.looks_like_reference, 2);
    mark_damage(take, take.channels[0].size());
    ASSERT_EQ(take.channel_faults.size(), 1u);
    EXPECT_NE(sentence(take.channel_faults[0]).find("channel 2 carries what was played"), std::string::npos);
    take.channel_faults.clear();
    take.channels[1] = in_a_room(take.played, 2000);
    take.channels[0] = delayed(take.played, 0, 0.0f, 0.01f);
    EXPECT_EQ(check_reference(take).state, ReferenceState::missing);
    mark_damage(take, take.channels[0].size());
    ASSERT_EQ(take.channel_faults.size(), 1u);
    EXPECT_NE(sentence(take.channel_faults[0]).find("does not carry what was played"), std::string::npos);
}

// Overlapped sweeps: a loopback carries them all, or the first alone, as it is wired. Both are right, and a hole is found in both.
TEST(Likeness, TheReferenceOfOverlappedSweepsIsKnownWhicheverWayItIsWired) {
    for (const bool all : {true, false}) {
        Recording take;
        take.sheet.label = "t";
        take.sheet.reference = 1;
        take.sheet.starts = {{"A", 0.1}, {"B", 0.6}};
        take.played = sweep(1.0);
        std::vector<float> sum = take.played;
        sum.resize(sum.size() + 24000, 0.0f);
        if (all)
            for (std::size_t n = 0; n < take.played.size(); ++n) sum[n + 24000] += take.played[n];
        take.channels = {delayed(sum, 480, 0.5f, 1e-5f)};
        mark_damage(take, take.channels[0].size());
        EXPECT_FALSE(take.lost_samples) << (take.channel_faults.empty() ? "" : sentence(take.channel_faults[0]));
        EXPECT_TRUE(take.channel_faults.empty());
        auto holed = take;
        holed.channels[0].erase(holed.channels[0].begin() + 30000, holed.channels[0].begin() + 30512);
        holed.channels[0].resize(take.channels[0].size());
        mark_damage(holed, holed.channels[0].size());
        EXPECT_TRUE(holed.lost_samples) << "a block went missing without a trace";
    }
}

}  // namespace
}  // namespace proofwalk::capture
