// Logs of every earlier version are read as they are and carried over when they are written. fixtures/versionN.db was
// written by the program when N was the newest version, with the invented records of sample.hpp.
#include <gtest/gtest.h>

#include "log/audit.hpp"
#include "log/merge.hpp"
#include "log/schema.hpp"
#include "sample.hpp"

namespace proofwalk::log {
namespace {

using namespace sample;

void copy_fixture(int version, const std::filesystem::path& target) {
    const std::filesystem::path fixture = PROOFWALK_SOURCE_DIR "/tests/log/fixtures/version" + std::to_string(version) + ".db";
    std::filesystem::copy_file(fixture, target);
    std::filesystem::copy(fixture.string() + ".takes", target.string() + ".takes");
}

constexpr const char* sign_off_hashes[] = {"fa10d31b6afab3b666895d6fb40a0f3de6b51b2c11b5371699a226e126b1fb1a",
                                           "205de186144ae4b2c25156e78b1bd7a6879e23900ce192190d8449c658d2a5c6"};

void expect_old_records(int version, const Log& log) {
    const auto takes = log.takes().value();
    ASSERT_EQ(takes.size(), 2u);
    expect_same(takes[0].evidence[1].reading, take("t01", 1, 2).evidence[1].reading);
    EXPECT_EQ(takes[1].evidence[0].evidence.impulse, take("t02", 2, 1).evidence[0].evidence.impulse);
    EXPECT_EQ(log.raw_channels(takes[0].number).value(), recording(2, 100));
    EXPECT_EQ(log.plans().value().size(), 1u);
    expect_same(log.newest_judgement().value()->judgement, judgement(2, 1, 1));
    EXPECT_EQ(log.newest_judgement().value()->basis, log.newest_basis().value());
    EXPECT_EQ(log.skips().value()[0].why, "balcony locked");
    EXPECT_EQ(log.changes().value()[0].what, "re-tilted");
    EXPECT_EQ(log.hand_readings().value()[0].value, -0.3);
    EXPECT_EQ(log.gear().value()[0].says, "flat within 0.1 dB");
    EXPECT_TRUE(log.sign_offs().value()[0].hash.starts_with(sign_off_hashes[version - 1]));
    EXPECT_TRUE(log.sign_offs().value()[0].scope.empty());
    if (version >= 2) {
        EXPECT_EQ(log.notes().value()[0].text, "rattles");
        EXPECT_EQ(log.attachments().value()[0].name, "shackle.txt");
    }
}

class Migration : public ::testing::TestWithParam<int> {};

TEST_P(Migration, AnOldLogIsReadWithoutBeingChanged) {
    const Folder folder;
    copy_fixture(GetParam(), folder / "show.db");
    {
        const Log log = opened(folder / "show.db", Mode::read);
        expect_old_records(GetParam(), log);
        EXPECT_TRUE(log.heard_after(0, {"M1"}, {}).value());
        EXPECT_FALSE(log.heard_after(100, {"M1"}, {}).value());
    }
    const auto sound = audit(folder / "show.db", {});
    ASSERT_TRUE(sound.has_value()) << sentence(sound.error());
    for (const Finding& finding : sound->findings) ADD_FAILURE() << finding.says;
    std::ifstream in(folder / "show.db", std::ios::binary);
    in.seekg(63);  // the last byte of the version in a database's first page
    EXPECT_EQ(in.get(), GetParam());
}

TEST_P(Migration, AnOldLogIsCarriedOverWhenWritten) {
    const Folder folder;
    copy_fixture(GetParam(), folder / "show.db");
    {
        Log log = opened(folder / "show.db");
        expect_old_records(GetParam(), log);
        ASSERT_TRUE(log.add_note({0, "box M1", "buzzes", true, {5, 0}, origin()}).has_value());
        ASSERT_TRUE(log.add_sign_off({"engineer", origin(), {}, 1, 2, "", "", {"M1"}}).has_value());
    }
    const Log log = opened(folder / "show.db", Mode::read);
    expect_old_records(GetParam(), log);
    EXPECT_EQ(log.notes().value().back().text, "buzzes");
    EXPECT_EQ(log.sign_offs().value().back().scope, std::vector<std::string>{"M1"});
    const auto sound = audit(folder / "show.db", {.against = sign_off_hashes[GetParam() - 1]});
    ASSERT_TRUE(sound.has_value()) << sentence(sound.error());
    for (const Finding& finding : sound->findings) ADD_FAILURE() << finding.says;
}

// A log of an older program, and the same log carried over: the same records whichever is merged, however its recordings
// were named and split.
TEST_P(Migration, AnOldLogMergesWithItsCarriedOverCopy) {
    const Folder folder;
    copy_fixture(GetParam(), folder / "old.db");
    copy_fixture(GetParam(), folder / "new.db");
    ASSERT_TRUE(opened(folder / "new.db").add_note({0, "show", "doors at eight", false, {6, 0}, origin()}).has_value());
    const auto merged = merge({folder / "old.db", folder / "new.db"}, folder / "both.db");
    ASSERT_TRUE(merged.has_value()) << sentence(merged.error());
    EXPECT_EQ(merged->added[0], 0);
    EXPECT_EQ(merged->added[1], 1);
    EXPECT_TRUE(merged->missing_files.empty());
    const Log log = opened(folder / "both.db", Mode::read);
    expect_old_records(GetParam(), log);
    EXPECT_TRUE(audit(folder / "both.db", {}).value().sound());
}

INSTANTIATE_TEST_SUITE_P(Versions, Migration, ::testing::Range(oldest_schema_version, schema_version));

}  // namespace
}  // namespace proofwalk::log
