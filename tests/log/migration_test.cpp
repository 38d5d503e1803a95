// Logs of every earlier version are read as they are and carried over when they are written. fixtures/version1.db was
// written by the program when 1 was the newest version, with the invented records of sample.hpp.
#include <gtest/gtest.h>

#include "sample.hpp"

namespace proofwalk::log {
namespace {

using namespace sample;

void copy_fixture(const std::filesystem::path& target) {
    const std::filesystem::path fixtures = PROOFWALK_SOURCE_DIR "/tests/log/fixtures";
    std::filesystem::copy_file(fixtures / "version1.db", target);
    std::filesystem::copy(fixtures / "version1.db.takes", target.string() + ".takes");
}

void expect_records_of_version_1(const Log& log) {
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
    EXPECT_EQ(log.sign_offs().value()[0].hash, "fa10d31b6afab3b666895d6fb40a0f3de6b51b2c11b5371699a226e126b1fb1a");
}

TEST(Migration, Version1IsReadWithoutBeingChanged) {
    const Folder folder;
    copy_fixture(folder / "show.db");
    {
        const Log log = opened(folder / "show.db", Mode::read);
        expect_records_of_version_1(log);
        EXPECT_TRUE(log.notes().value().empty());
        EXPECT_TRUE(log.attachments().value().empty());
    }
    std::ifstream in(folder / "show.db", std::ios::binary);
    in.seekg(63);  // the last byte of the version in a database's first page
    EXPECT_EQ(in.get(), 1);
}

TEST(Migration, Version1IsCarriedOverWhenWritten) {
    const Folder folder;
    copy_fixture(folder / "show.db");
    {
        Log log = opened(folder / "show.db");
        expect_records_of_version_1(log);
        ASSERT_TRUE(log.add_note({0, "box M1", "rattles", true, {5, 0}, origin()}).has_value());
    }
    const Log log = opened(folder / "show.db", Mode::read);
    expect_records_of_version_1(log);
    ASSERT_EQ(log.notes().value().size(), 1u);
}

}  // namespace
}  // namespace proofwalk::log
