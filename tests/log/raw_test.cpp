// Raw recordings beside the log.
#include <gtest/gtest.h>

#include <algorithm>
#include <limits>

#include "sample.hpp"

namespace proofwalk::log {
namespace {

using namespace sample;

std::vector<std::string> files_in(const std::filesystem::path& folder) {
    std::vector<std::string> names;
    for (const auto& entry : std::filesystem::directory_iterator(folder)) names.push_back(entry.path().filename().string());
    std::ranges::sort(names);
    return names;
}

TEST(Raw, NineChannelsAreThreeFlacFilesAndComeBackToTheBit) {
    const Folder folder;
    Log log = opened(folder / "show.db");
    EXPECT_EQ(log.takes_folder(), folder / "show.db.takes");
    auto samples = recording(9, 5000);
    samples[3].assign(5000, 0.0F);
    samples[4][17] = -1.0F;
    const auto number = log.add_take(take("t01"), samples).value().number;
    const std::string sha = take("t01").sha256;
    EXPECT_EQ(files_in(log.takes_folder()), (std::vector<std::string>{sha + ".2.flac", sha + ".3.flac", sha + ".flac"}));
    EXPECT_EQ(log.takes(false).value()[0].raw_file, sha + ".flac");
    EXPECT_EQ(log.raw_channels(number).value(), samples);
}

TEST(Raw, WhatFlacWouldLoseIsKeptAsFloat) {
    const Folder folder;
    Log log = opened(folder / "show.db");
    auto samples = recording(2, 300);
    samples[1][5] = 1.0F;  // one step over the largest 24-bit value
    samples[0][9] = 1e-9F;
    const auto number = log.add_take(take("t01"), samples).value().number;
    EXPECT_EQ(files_in(log.takes_folder()), (std::vector<std::string>{take("t01").sha256 + ".wav"}));
    EXPECT_EQ(log.raw_channels(number).value(), samples);
}

TEST(Raw, NonFiniteSamplesAreKeptToo) {
    const Folder folder;
    Log log = opened(folder / "show.db");
    auto samples = recording(1, 10);
    samples[0][3] = std::numeric_limits<float>::infinity();
    const auto number = log.add_take(take("t01"), samples).value().number;
    EXPECT_EQ(log.raw_channels(number).value(), samples);
}

TEST(Raw, AChangedFileIsFoundWhenItIsOpened) {
    const Folder folder;
    Log log = opened(folder / "show.db");
    const auto number = log.add_take(take("t01"), recording(2, 1000)).value().number;
    const auto file = log.takes_folder() / log.takes(false).value()[0].raw_file;
    {
        std::fstream out(file, std::ios::in | std::ios::out | std::ios::binary);
        out.seekp(900);
        out.put('x');
    }
    const auto got = log.raw_channels(number);
    ASSERT_FALSE(got.has_value());
    EXPECT_NE(sentence(got.error()).find("was changed"), std::string::npos) << sentence(got.error());
    std::filesystem::remove(file);
    EXPECT_NE(sentence(log.raw_channels(number).error()).find("is missing"), std::string::npos);
}

TEST(Raw, WhatAnInterruptedProgramLeftIsTakenAway) {
    const Folder folder;
    { Log log = opened(folder / "show.db"); ASSERT_TRUE(log.add_take(take("t01"), recording(1, 100)).has_value()); }
    const auto takes = folder / "show.db.takes";
    std::ofstream(takes / "abc.flac.999999999.part") << "half";
    std::ofstream(takes / ("def.flac." + std::to_string(::getpid()) + ".part")) << "being written";
    const Log log = opened(folder / "show.db");
    EXPECT_FALSE(std::filesystem::exists(takes / "abc.flac.999999999.part"));
    EXPECT_TRUE(std::filesystem::exists(takes / ("def.flac." + std::to_string(::getpid()) + ".part")));
}

}  // namespace
}  // namespace proofwalk::log
