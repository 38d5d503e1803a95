// Impulse responses in the log: to the bit, and small.
#include <gtest/gtest.h>

#include <cmath>

#include "log/bytes.hpp"
#include "log/impulse_rounding.hpp"
#include "log/packed_evidence.hpp"
#include "sample.hpp"

namespace proofwalk::log {
namespace {

// A decaying room with noise, as a take leaves it: 1.5 s at 48 kHz, noise 70 dB below the direct sound.
signal::Evidence room(unsigned seed) {
    std::mt19937 random(seed);
    std::normal_distribution<float> normal(0.0F, 1.0F);
    signal::Evidence evidence;
    evidence.impulse.resize(72000);
    for (std::size_t at = 0; at < evidence.impulse.size(); ++at) {
        const float decay = at < 2000 ? 0.0F : 0.05F * std::exp(-static_cast<float>(at - 2000) / 6000.0F);
        evidence.impulse[at] = (decay + 3e-4F) * normal(random);
    }
    evidence.impulse[2000] = 1.0F;
    evidence.noise_db = sample::bands(random, -70.0);
    evidence.drift_ppm = 2.5;
    return evidence;
}

TEST(PackedEvidence, OnAGridItComesBackToTheBitAndIsSmall) {
    signal::Evidence evidence = room(1);
    const std::size_t plain = packed(evidence).size();
    round_impulse(evidence);
    const auto bytes = packed(evidence);
    const signal::Evidence got = evidence_from(bytes);
    EXPECT_EQ(got.impulse, evidence.impulse);
    EXPECT_EQ(got.drift_ppm, 2.5);
    sample::expect_same(got.noise_db, evidence.noise_db);
    // 300 takes of 8 mics in 300 MiB leave 131,072 bytes for each.
    EXPECT_LT(bytes.size(), 90'000u);
    EXPECT_GT(plain, 288'000u);
}

TEST(PackedEvidence, OffTheGridItComesBackToTheBitToo) {
    for (const std::vector<float>& impulse :
         {std::vector<float>{1.0F, 1e-30F, -0.3F}, std::vector<float>{-0.0F, 1.0F}, std::vector<float>{},
          std::vector<float>{0.0F, 0.0F}, std::vector<float>{16777216.0F, 1.0F}, std::vector<float>{std::ldexp(1.0F, -140)},
          std::vector<float>(257, -3.5F)}) {
        signal::Evidence evidence;
        evidence.impulse = impulse;
        const signal::Evidence got = evidence_from(packed(evidence));
        ASSERT_EQ(got.impulse.size(), impulse.size());
        for (std::size_t at = 0; at < impulse.size(); ++at)
            EXPECT_EQ(std::bit_cast<std::uint32_t>(got.impulse[at]), std::bit_cast<std::uint32_t>(impulse[at]));
    }
}

TEST(PackedEvidence, RoundingStaysFarBelowTheNoise) {
    const signal::Evidence exact = room(2);
    signal::Evidence rounded = exact;
    round_impulse(rounded);
    double error = 0.0, noise = 0.0;
    for (std::size_t at = 0; at < 2000; ++at) {
        error += std::pow(rounded.impulse[at] - exact.impulse[at], 2);
        noise += std::pow(exact.impulse[at], 2);
    }
    EXPECT_LT(10.0 * std::log10(error / noise), -40.0);
    signal::Evidence again = rounded;
    round_impulse(again);
    EXPECT_EQ(again.impulse, rounded.impulse) << "what is rounded stays as it is";
}

TEST(PackedEvidence, WithoutNoiseTheStepFollowsThePeak) {
    signal::Evidence evidence;
    evidence.impulse = {0.0F, 0.75F, 1e-9F, -1e-6F};
    evidence.impulse.resize(100);
    round_impulse(evidence);
    EXPECT_EQ(evidence.impulse[1], 0.75F);
    EXPECT_EQ(evidence.impulse[2], 0.0F);
    EXPECT_NEAR(evidence.impulse[3], -1e-6F, 0.75 * std::ldexp(1.0, -22));
}

TEST(PackedEvidence, WhatCouldNotBeReadBackIsNotStored) {
    const sample::Folder folder;
    Log log = sample::opened(folder / "show.db");
    TakeRecord take = sample::take("t01");
    take.evidence[1].evidence.impulse[7] = INFINITY;
    const auto refused = log.add_take(take, {});
    ASSERT_FALSE(refused.has_value());
    EXPECT_NE(sentence(refused.error()).find("take t01"), std::string::npos);
    EXPECT_TRUE(log.takes().value().empty());
}

TEST(PackedEvidence, DamagedBytesAreRefused) {
    signal::Evidence evidence = room(3);
    evidence.impulse.resize(3000);
    round_impulse(evidence);
    const auto bytes = packed(evidence);
    for (std::size_t size = 0; size < bytes.size(); size += 37)
        EXPECT_THROW((void)evidence_from(std::span{bytes}.first(size)), BadBytes) << size;
    std::mt19937 random(4);
    for (int time = 0; time < 300; ++time) {
        auto spoiled = bytes;
        spoiled[random() % 200] ^= static_cast<std::byte>(1u << random() % 8);
        try {
            (void)evidence_from(spoiled);  // other values, or refused: never more than was there
        } catch (const BadBytes&) {
        }
    }
}

}  // namespace
}  // namespace proofwalk::log
