#include "capture/rescue.hpp"

#include <gtest/gtest.h>

#include "capture/takes_file.hpp"
#include "capture/takes_folder.hpp"

namespace proofwalk::capture {
namespace {

Recording recording() {
    Recording take;
    take.sheet.label = "M1-2026-05-02T15:04:05Z";
    take.sheet.sounding = {"M1"};
    take.sheet.reference = 1;
    take.sheet.mics = {{2, "m \"1\"", "p1"}};
    take.channels = {{0.5f, -0.5f, 0.25f, 0.125f}, {0.1f, 0.2f, -0.3f, 0.4f}};
    take.played = {0.5f, -0.5f};
    return take;
}

class Rescue : public testing::Test {
protected:
    ~Rescue() override {
        std::error_code ignored;
        std::filesystem::remove_all(folder, ignored);
    }
    const std::filesystem::path folder = std::filesystem::temp_directory_path() / ("proofwalk-rescue-test-" + std::to_string(getpid()));
};

TEST_F(Rescue, WhatWasPutAwayIsARecordedTake) {
    const std::vector<Mic> mics = {{"m \"1\"", {}, 6.25, 0.003, "0417"}};
    const auto file = rescue(recording(), mics, folder);
    ASSERT_TRUE(file.has_value()) << sentence(file.error());
    const auto takes = load_takes(*file);
    ASSERT_TRUE(takes.has_value()) << sentence(takes.error().front());
    ASSERT_TRUE(takes->faults.empty()) << sentence(takes->faults.front());
    ASSERT_EQ(takes->takes.size(), 1u);
    const auto back = record_of(*takes, takes->takes.front());
    ASSERT_TRUE(back.has_value()) << sentence(back.error());
    EXPECT_EQ(back->channels, recording().channels);
    EXPECT_EQ(back->sheet.label, recording().sheet.label);
    EXPECT_EQ(back->sheet.reference, 1);
    ASSERT_NE(takes->mic("m \"1\""), nullptr);
    EXPECT_EQ(takes->mic("m \"1\"")->pascal_per_fs, 6.25);
    EXPECT_NEAR(takes->mic("m \"1\"")->latency_s, 0.003, 1e-9);
}

TEST_F(Rescue, OverlappedAndSilentTakesToo) {
    Recording overlapped = recording();
    overlapped.sheet.label = "M1+M2";
    overlapped.sheet.sounding = {"M1", "M2"};
    overlapped.sheet.starts = {{"M1", 0.5}, {"M2", 1.5}};
    const auto file = rescue(overlapped, {}, folder);
    ASSERT_TRUE(file.has_value()) << sentence(file.error());
    const auto takes = load_takes(*file);
    ASSERT_TRUE(takes.has_value()) << sentence(takes.error().front());
    ASSERT_EQ(takes->takes.size(), 1u) << sentence(takes->faults.front());
    EXPECT_EQ(takes->takes[0].sheet.starts.size(), 2u);
    EXPECT_TRUE(takes->takes[0].signal.has_value());
    Recording silence = recording();
    silence.sheet.label = "silence";
    silence.sheet.kind = signal::TakeKind::silence;
    silence.sheet.sounding.clear();
    const auto quiet = rescue(silence, {}, folder);
    ASSERT_TRUE(quiet.has_value());
    EXPECT_TRUE(load_takes(*quiet).has_value());
}

TEST_F(Rescue, SaysWhereItCannotWrite) {
    EXPECT_FALSE(rescue(recording(), {}, "/proc/no such place").has_value());
}

}  // namespace
}  // namespace proofwalk::capture
