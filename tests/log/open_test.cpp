// What can stand where a log is expected, and who else may be using it.
#include <gtest/gtest.h>

#include <thread>

#include "other_program.hpp"
#include "sample.hpp"

namespace proofwalk::log {
namespace {

using namespace sample;

std::string fault_of(const std::filesystem::path& file, Mode mode) {
    const auto log = Log::open(file, mode, std::chrono::milliseconds{50});
    if (log) return "";
    EXPECT_EQ(log.error().kind, FaultKind::log);
    EXPECT_FALSE(log.error().remedy.empty());
    EXPECT_NE(sentence(log.error()).find(file.string()), std::string::npos);
    return sentence(log.error());
}

#define EXPECT_SAYS(text, part) EXPECT_NE((text).find(part), std::string::npos) << (text)

void write_file(const std::filesystem::path& file, const std::string& bytes) {
    std::ofstream(file, std::ios::binary) << bytes;
}

TEST(Open, MissingLogIsMadeOnlyForWriting) {
    const Folder folder;
    EXPECT_SAYS(fault_of(folder / "show.db", Mode::read), "there is no log");
    EXPECT_FALSE(std::filesystem::exists(folder / "show.db"));
    EXPECT_EQ(fault_of(folder / "show.db", Mode::write), "");
    EXPECT_EQ(fault_of(folder / "show.db", Mode::read), "");
}

TEST(Open, OtherFilesAreNotALog) {
    const Folder folder;
    write_file(folder / "text", "format = \"proofwalk.plan/1\"\n");
    write_file(folder / "short", "S");
    write_file(folder / "binary", std::string(5000, '\0'));
    for (const char* name : {"text", "short", "binary"})
        for (const Mode mode : {Mode::read, Mode::write}) EXPECT_SAYS(fault_of(folder / name, mode), "not a log");
    EXPECT_SAYS(fault_of(folder.path(), Mode::write), "not a log");
    EXPECT_EQ(std::filesystem::file_size(folder / "text"), 28u) << "left as it was";
}

TEST(Open, AnEmptyFileIsABeginningForWritingOnly) {
    const Folder folder;
    write_file(folder / "empty", "");
    EXPECT_SAYS(fault_of(folder / "empty", Mode::read), "no record was ever stored");
    EXPECT_EQ(fault_of(folder / "empty", Mode::write), "");
}

TEST(Open, ADatabaseOfAnotherProgramIsNotALog) {
    const Folder folder;
    OtherProgram(folder / "other.db").run("CREATE TABLE music (title TEXT)");
    for (const Mode mode : {Mode::read, Mode::write})
        EXPECT_SAYS(fault_of(folder / "other.db", mode), "database of another program");
}

TEST(Open, ANewerVersionIsLeftAlone) {
    const Folder folder;
    { const Log log = opened(folder / "show.db"); }
    OtherProgram(folder / "show.db").run("PRAGMA user_version = 99");
    for (const Mode mode : {Mode::read, Mode::write}) EXPECT_SAYS(fault_of(folder / "show.db", mode), "newer version");
}

TEST(Open, ChangedTablesAreRefused) {
    const Folder folder;
    { const Log log = opened(folder / "show.db"); }
    OtherProgram(folder / "show.db").run("DROP TRIGGER take_keeps_values");
    EXPECT_SAYS(fault_of(folder / "show.db", Mode::write), "another program changed them");
}

TEST(Open, HeldByAnotherWriterItCanBeReadAndSaysWhoWaits) {
    const Folder folder;
    Log first = opened(folder / "show.db");
    ASSERT_TRUE(first.add_plan(plan()).has_value());
    OtherProgram other(folder / "show.db");
    EXPECT_EQ(other.run("BEGIN IMMEDIATE"), "");
    const Log reader = opened(folder / "show.db", Mode::read);
    EXPECT_EQ(reader.plans().value().size(), 1u);
    const auto refused = first.add_take(take("t01"), {});
    ASSERT_FALSE(refused.has_value());
    EXPECT_SAYS(sentence(refused.error()), "in use by another process");
    EXPECT_EQ(other.run("ROLLBACK"), "");
    EXPECT_TRUE(first.add_take(take("t01"), {}).has_value());
    EXPECT_EQ(reader.takes().value().size(), 1u) << "a reader sees what was stored meanwhile";
}

TEST(Open, TwoWritersWaitForEachOther) {
    const Folder folder;
    { const Log log = opened(folder / "show.db"); }
    const auto write = [&](const std::string& prefix) {
        auto log = Log::open(folder / "show.db", Mode::write);
        ASSERT_TRUE(log.has_value());
        for (int count = 0; count < 20; ++count)
            ASSERT_TRUE(log->add_take(take(prefix + std::to_string(count), 1, 1), {}).has_value());
    };
    std::thread other(write, "a");
    write("b");
    other.join();
    EXPECT_EQ(opened(folder / "show.db", Mode::read).takes(false).value().size(), 40u);
}

TEST(Open, ReadOnlyFileOrFolderIsNamed) {
    if (::geteuid() == 0) GTEST_SKIP() << "the superuser may write everywhere";
    const Folder folder;
    { Log log = opened(folder / "show.db"); ASSERT_TRUE(log.add_plan(plan()).has_value()); }
    std::filesystem::permissions(folder / "show.db", std::filesystem::perms::owner_read);
    EXPECT_SAYS(fault_of(folder / "show.db", Mode::write), "read-only");
    EXPECT_EQ(opened(folder / "show.db", Mode::read).plans().value().size(), 1u);
    std::filesystem::permissions(folder.path(), std::filesystem::perms::owner_read | std::filesystem::perms::owner_exec);
    EXPECT_SAYS(fault_of(folder / "show.db", Mode::write), "read-only");
    EXPECT_SAYS(fault_of(folder / "new.db", Mode::write), "read-only");
    EXPECT_EQ(opened(folder / "show.db", Mode::read).plans().value().size(), 1u);
}

TEST(Open, AReaderLeavesNothingBehind) {
    const Folder folder;
    { Log log = opened(folder / "show.db"); ASSERT_TRUE(log.add_plan(plan()).has_value()); }
    { ASSERT_TRUE(opened(folder / "show.db", Mode::read).plans().has_value()); }
    std::size_t files = 0;
    for ([[maybe_unused]] const auto& entry : std::filesystem::directory_iterator(folder.path())) ++files;
    EXPECT_EQ(files, 1u);
}

TEST(Open, ALogForReadingCannotBeWritten) {
    const Folder folder;
    { const Log log = opened(folder / "show.db"); }
    Log log = opened(folder / "show.db", Mode::read);
    EXPECT_SAYS(sentence(log.add_plan(plan()).error()), "read-only");
}

TEST(Open, DamagedPagesAreNamed) {
    const Folder folder;
    {
        Log log = opened(folder / "show.db");
        for (int count = 0; count < 30; ++count) ASSERT_TRUE(log.add_take(take("t" + std::to_string(count)), {}).has_value());
    }
    {
        std::fstream out(folder / "show.db", std::ios::in | std::ios::out | std::ios::binary);
        for (int page = 8; page < 100; page += 2) {
            out.seekp(4096 * page);
            out << std::string(4096, '\xA5');
        }
    }
    auto log = Log::open(folder / "show.db", Mode::read);
    const Fault fault = log ? log->takes().error() : log.error();
    EXPECT_SAYS(sentence(fault), "damaged");
}

TEST(Open, SettingsAreThoseOfALogThatLosesNothing) {
    const Folder folder;
    Log log = opened(folder / "show.db");
    OtherProgram other(folder / "show.db");
    EXPECT_EQ(other.value("PRAGMA journal_mode"), "wal");
    EXPECT_NE(other.value("PRAGMA application_id"), "0");
    EXPECT_NE(other.value("PRAGMA user_version"), "0");
}

TEST(Open, RecordsCannotBeEditedOrDeleted) {
    const Folder folder;
    Log log = opened(folder / "show.db");
    ASSERT_TRUE(log.add_plan(plan()).has_value());
    ASSERT_TRUE(log.add_take(take("t01"), recording(1, 10)).has_value());
    ASSERT_TRUE(log.add_judgement(judgement(1, 0, 0), log.newest_basis().value(), origin()).has_value());
    ASSERT_TRUE(log.add_skip({"aim-v", "M1", "why", origin()}).has_value());
    ASSERT_TRUE(log.add_change({"M1", "what", origin()}).has_value());
    ASSERT_TRUE(log.add_sign_off({"engineer", origin(), {{"aim-v", "M1"}}, 1, 2, "", "", {"M1"}}).has_value());
    ASSERT_TRUE(log.add_hand_reading({plan::CheckKind::aim_v, "M1", 0.0, 0.1, "x"}, origin()).has_value());
    ASSERT_TRUE(log.add_gear({"a", "b", "pass", "d", origin()}).has_value());
    ASSERT_TRUE(log.add_note({0, "box M1", "rattles", false, {}, origin()}).has_value());
    write_file(folder / "photo.jpg", "picture");
    ASSERT_TRUE(log.attach({0, "box M1", "", "", "", 0, "", origin()}, folder / "photo.jpg").has_value());
    OtherProgram other(folder / "show.db");
    for (const std::string table : {"record", "plan", "take", "take_circuit", "raw_file", "reading", "evidence", "silence",
                                    "calibration", "judgement", "verdict", "skip", "change", "sign_off", "sign_off_exception", "sign_off_scope",
                                    "hand_reading", "gear", "attachment", "note"}) {
        const std::string column = table == "record" ? "number" : "record";
        EXPECT_SAYS(other.run("UPDATE " + table + " SET " + column + " = 77"), "never edited");
        EXPECT_SAYS(other.run("DELETE FROM " + table), "never edited");
    }
}

}  // namespace
}  // namespace proofwalk::log
