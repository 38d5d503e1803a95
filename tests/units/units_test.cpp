#include <gtest/gtest.h>

#include <string>

#include "units/bands.hpp"
#include "units/convert.hpp"
#include "units/fault.hpp"
#include "units/flags.hpp"
#include "units/sha256.hpp"
#include "units/sha256_blocks.hpp"
#include "units/utc.hpp"

namespace proofwalk {
namespace {

// FIPS 180-4 examples as published by NIST ("abc", empty message and the 448-bit message).
TEST(Sha256, AgreesWithPublishedExamples) {
    EXPECT_EQ(sha256("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    EXPECT_EQ(sha256(""), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
    EXPECT_EQ(sha256("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq"),
              "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
    EXPECT_EQ(sha256(std::string(1'000'000, 'a')), "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
}

TEST(Sha256, TheProcessorsInstructionsGiveWhatEveryProcessorGives) {
    std::string bytes;
    for (unsigned at = 0; at < 64 * 7; ++at) bytes += static_cast<char>(at * 167 + at / 64 * 31);
    const auto* data = reinterpret_cast<const unsigned char*>(bytes.data());
    for (std::size_t blocks = 0; blocks <= 7; ++blocks) {
        Sha256State fast = sha256_beginning, portable = sha256_beginning;
        sha256_blocks(fast, data, blocks);
        sha256_blocks_portable(portable, data, blocks);
        EXPECT_EQ(fast, portable) << blocks;
    }
}

TEST(Convert, WrapsAnglesIntoOneTurn) {
    EXPECT_DOUBLE_EQ(wrapped_deg(190.0), -170.0);
    EXPECT_DOUBLE_EQ(wrapped_deg(-190.0), 170.0);
    EXPECT_DOUBLE_EQ(wrapped_deg(-180.0), 180.0);
    EXPECT_DOUBLE_EQ(wrapped_deg(720.0), 0.0);
}

TEST(Convert, AFootIsTwelveInches) { EXPECT_DOUBLE_EQ(metres_per_foot, 12.0 * metres_per_inch); }

// IEC 61260-1:2014, third octave at 1 kHz: 891.251 to 1122.018 Hz.
TEST(Bands, EdgesAgreeWithTheStandard) {
    EXPECT_NEAR(midband_hz(17), 1000.0, 1e-9);
    EXPECT_NEAR(lower_edge_hz(17), 891.251, 5e-4);
    EXPECT_NEAR(upper_edge_hz(17), 1122.018, 5e-4);
    EXPECT_NEAR(midband_hz(26), 7943.28, 5e-3);
}

TEST(Bands, NominalLimitsIncludeTheirOwnBand) {
    const auto [first, last] = bands_inside(2000.0, 8000.0);
    EXPECT_EQ(first, 20u);
    EXPECT_EQ(last, 27u);
}

TEST(Bands, PowerMeanLeavesOutWhatWasNotMeasured) {
    BandLevels levels;
    EXPECT_TRUE(std::isnan(power_mean_db(levels, 2000.0, 8000.0)));
    levels[20] = 0.0;
    levels[21] = 10.0;
    EXPECT_NEAR(power_mean_db(levels, 2000.0, 8000.0), power_db(5.5), 1e-12);
}

TEST(Flags, EveryFlagHasAWord) {
    Flags all{0xffffu};
    EXPECT_EQ(words(all).size(), 16u);
    Flags one;
    one.raise(Flag::no_signal);
    ASSERT_EQ(words(one).size(), 1u);
    EXPECT_EQ(words(one)[0], "no-signal");
}

TEST(Moments, RoundTripWithTheirOffset) {
    const auto moment = moment_from_text("2026-05-02T15:04:05+02:00");
    ASSERT_TRUE(moment);
    EXPECT_EQ(moment->offset_min, 120);
    EXPECT_EQ(to_text(*moment), "2026-05-02T15:04:05+02:00");
    EXPECT_EQ(to_text(Moment{0, 0}), "1970-01-01T00:00:00Z");
    EXPECT_FALSE(moment_from_text("2026-13-02T15:04:05Z"));
    EXPECT_FALSE(moment_from_text("yesterday"));
}

TEST(Faults, MakeOneSentence) {
    EXPECT_EQ(sentence({FaultKind::input, "a.toml", "line 3", "unknown key \"gian\"", "did you mean \"gain\"?"}),
              "a.toml, line 3: unknown key \"gian\"; did you mean \"gain\"?");
    EXPECT_EQ(exit_status({FaultKind::device, {}, {}, "gone", {}}), 3);
}

}  // namespace
}  // namespace proofwalk
