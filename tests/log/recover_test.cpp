// A damaged log gives back everything that is whole, and names the rest.
#include <gtest/gtest.h>

#include <map>
#include <set>

#include "log/audit.hpp"
#include "log/recover.hpp"
#include "other_program.hpp"
#include "sample.hpp"

namespace proofwalk::log {
namespace {

using namespace sample;

constexpr std::size_t page_bytes = 4096;
constexpr int takes_in_show = 60;

void write_show(const std::filesystem::path& file) {
    Log log = opened(file);
    ASSERT_TRUE(log.add_plan(sample::plan()).has_value());
    for (int count = 0; count < takes_in_show; ++count) {
        const auto number = static_cast<unsigned>(count);
        ASSERT_TRUE(log.add_take(take("t" + std::to_string(count), number, 2), count == 0 ? recording(1, 30) : std::vector<std::vector<float>>{})
                        .has_value());
        if (count % 10 != 0) continue;
        ASSERT_TRUE(log.add_judgement(judgement(4, 2, count), log.newest_basis().value(), origin()).has_value());
    }
    ASSERT_TRUE(log.add_sign_off({"engineer", origin(), {}, 1, 0, "", ""}).has_value());
}
constexpr std::int64_t records_in_show = 1 + takes_in_show + 6 + 1;

void spoil(const std::filesystem::path& file, std::size_t page, char with = '\xA5') {
    std::fstream out(file, std::ios::in | std::ios::out | std::ios::binary);
    out.seekp(static_cast<std::streamoff>(page * page_bytes));
    out << std::string(page_bytes, with);
}

// Every take of the recovered log is one of the show, to the bit.
void expect_true_takes(const std::filesystem::path& file) {
    const Log log = opened(file, Mode::read);
    const auto takes = log.takes().value();
    for (const TakeRecord& got : takes) {
        const auto number = static_cast<unsigned>(std::stoi(got.label.substr(1)));
        const TakeRecord wanted = take(got.label, number, 2);
        ASSERT_EQ(got.evidence.size(), 2u);
        EXPECT_EQ(got.evidence[1].evidence.impulse, wanted.evidence[1].evidence.impulse);
        expect_same(got.evidence[0].reading, wanted.evidence[0].reading);
    }
}

TEST(Recover, AWholeLogComesBackWhole) {
    const Folder folder;
    write_show(folder / "show.db");
    const Recovered result = recover(folder / "show.db", folder / "new.db", origin()).value();
    EXPECT_EQ(result.records, records_in_show + 1) << "and a note about where it comes from";
    EXPECT_TRUE(result.lost.empty());
    EXPECT_TRUE(result.missing_files.empty());
    EXPECT_TRUE(audit(folder / "new.db", {})->sound());
    const Log log = opened(folder / "new.db", Mode::read);
    EXPECT_EQ(log.raw_channels(log.takes(false).value()[0].number).value(), recording(1, 30));
    EXPECT_NE(log.notes().value()[0].text.find("recovered from show.db"), std::string::npos);
}

// Each page in turn: at most the few records that lie in it are lost, they are named, and the first pages (the list of
// tables) and the inner pages of a table lose nothing.
TEST(Recover, AnyOneDamagedPageLosesOnlyWhatLiesInIt) {
    const Folder folder;
    write_show(folder / "show.db");
    const std::size_t pages = std::filesystem::file_size(folder / "show.db") / page_bytes;
    std::size_t unharmed = 0, tried = 0;
    for (std::size_t page = 0; page < pages; page += page < 4 ? 1 : 9) {
        std::filesystem::copy_file(folder / "show.db", folder / "bad.db");
        spoil(folder / "bad.db", page, page % 2 == 0 ? '\xA5' : '\0');
        const auto result = recover(folder / "bad.db", folder / "new.db", origin());
        ASSERT_TRUE(result.has_value()) << "page " << page << ": " << sentence(result.error());
        ++tried;
        if (result->lost.empty()) {
            ++unharmed;
            EXPECT_EQ(result->records, records_in_show + 1) << "page " << page << ": lost without a word";
        } else {
            // A page of spines or circuits holds some twenty of them.
            EXPECT_LE(result->lost.size(), 40u) << "page " << page;
            EXPECT_GE(result->records + static_cast<std::int64_t>(result->lost.size()), records_in_show) << "page " << page;
        }
        expect_true_takes(folder / "new.db");
        std::filesystem::remove(folder / "bad.db");
        std::filesystem::remove(folder / "new.db");
        std::filesystem::remove_all(folder / "new.db.takes");
    }
    EXPECT_GT(unharmed, tried / 8);
}

TEST(Recover, WithoutItsFirstPageEveryRecordIsFound) {
    const Folder folder;
    write_show(folder / "show.db");
    spoil(folder / "show.db", 0, '\0');
    EXPECT_FALSE(Log::open(folder / "show.db", Mode::read).has_value());
    const Recovered result = recover(folder / "show.db", folder / "new.db", origin()).value();
    EXPECT_TRUE(result.lost.empty());
    EXPECT_EQ(result.records, records_in_show + 1);
    expect_true_takes(folder / "new.db");
}

TEST(Recover, WhatWasStillInTheWriteAheadFileIsFound) {
    const Folder folder;
    write_show(folder / "show.db");
    Log log = opened(folder / "show.db");
    ASSERT_TRUE(log.add_take(take("t60", 60, 2), {}).has_value());
    // As after a crash: the file and its write-ahead file without the program.
    std::filesystem::copy_file(folder / "show.db", folder / "crashed.db");
    std::filesystem::copy_file(folder / "show.db-wal", folder / "crashed.db-wal");
    spoil(folder / "crashed.db", 0);
    const Recovered result = recover(folder / "crashed.db", folder / "new.db", origin()).value();
    EXPECT_EQ(result.records, records_in_show + 2);
    expect_true_takes(folder / "new.db");
}

TEST(Recover, ATruncatedLogGivesItsBeginning) {
    const Folder folder;
    write_show(folder / "show.db");
    const auto size = std::filesystem::file_size(folder / "show.db");
    std::filesystem::resize_file(folder / "show.db", size / 4 * 3 + 100);
    const auto result = recover(folder / "show.db", folder / "new.db", origin());
    ASSERT_TRUE(result.has_value()) << sentence(result.error());
    EXPECT_GT(result->records, 10);
    EXPECT_FALSE(result->lost.empty());
    expect_true_takes(folder / "new.db");
    EXPECT_TRUE(opened(folder / "new.db").add_judgement(judgement(2, 1, 1), {}, origin()).has_value()) << "the log goes on";
}

TEST(Recover, AChangedRecordIsNotPassedOff) {
    const Folder folder;
    write_show(folder / "show.db");
    ASSERT_EQ(OtherProgram(folder / "show.db").run_unguarded("UPDATE take SET label = 't99' WHERE record = 7"), "");
    const Recovered result = recover(folder / "show.db", folder / "new.db", origin()).value();
    ASSERT_EQ(result.lost.size(), 1u);
    EXPECT_NE(result.lost[0].find("record 7: take"), std::string::npos) << result.lost[0];
    EXPECT_NE(result.lost[0].find("t99"), std::string::npos);
    const Audit audited = audit(folder / "new.db", {}).value();
    ASSERT_FALSE(audited.sound()) << "the new log says that a record is missing";
    EXPECT_EQ(audited.findings[0].what, Tampering::removed);
}

TEST(Recover, NothingIsMadeOfNothing) {
    const Folder folder;
    std::ofstream(folder / "text.db") << std::string(20000, 'x');
    EXPECT_FALSE(recover(folder / "text.db", folder / "new.db", origin()).has_value());
    EXPECT_FALSE(recover(folder / "missing.db", folder / "new.db", origin()).has_value());
    EXPECT_FALSE(std::filesystem::exists(folder / "new.db"));
}

}  // namespace
}  // namespace proofwalk::log
