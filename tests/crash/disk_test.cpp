// Disks that fail under a log.
#include <gtest/gtest.h>

#include <set>

#include "fault_vfs.hpp"
#include "log/audit.hpp"
#include "log/recover.hpp"
#include "log/sample.hpp"

namespace proofwalk::log {
namespace {

using namespace sample;

// Everything that was acknowledged is there, and nothing else but takes of this test.
void expect_takes(const std::filesystem::path& file, const std::vector<std::string>& acknowledged) {
    const auto log = Log::open(file, Mode::write);
    ASSERT_TRUE(log.has_value()) << sentence(log.error());
    const auto takes = log->takes();
    ASSERT_TRUE(takes.has_value()) << sentence(takes.error());
    std::set<std::string> there;
    for (const TakeRecord& take : *takes) there.insert(take.label);
    for (const std::string& label : acknowledged) EXPECT_TRUE(there.contains(label)) << label << " was acknowledged";
    const auto result = audit(file, {});
    ASSERT_TRUE(result.has_value()) << sentence(result.error());
    for (const Finding& finding : result->findings) ADD_FAILURE() << finding.says;
}

struct Case {
    const char* name;
    DiskFault fault;
    bool lasting;
};

class DiskFaults : public ::testing::TestWithParam<Case> {};

// The fault at every possible operation of storing a take, one after another.
TEST_P(DiskFaults, LoseNothingThatWasAcknowledged) {
    const Folder folder;
    FaultyDisk disk;
    std::vector<std::string> acknowledged;
    int refused = 0;
    {
        Log log = opened(folder / "show.db");
        ASSERT_TRUE(log.add_plan(sample::plan()).has_value());
        for (int after = 1; after <= 60; ++after) {
            const std::string label = "t" + std::to_string(after);
            disk.fail(GetParam().fault, after, GetParam().lasting);
            const auto added = log.add_take(take(label, static_cast<unsigned>(after), 2), {});
            disk.heal();
            if (added) {
                acknowledged.push_back(label);
            } else {
                ++refused;
                EXPECT_EQ(added.error().kind, FaultKind::log);
                EXPECT_FALSE(added.error().reason.empty());
                if (GetParam().fault == DiskFault::full) {
                    EXPECT_NE(sentence(added.error()).find("disk is full"), std::string::npos) << sentence(added.error());
                }
            }
            // The log goes on at once, or after it was opened again.
            const std::string next = label + "b";
            if (log.add_take(take(next, static_cast<unsigned>(after), 1), {})) acknowledged.push_back(next);
        }
    }
    EXPECT_GT(disk.faults_given(), 0);
    EXPECT_GT(refused, 0);
    EXPECT_GT(acknowledged.size(), 60u);
    expect_takes(folder / "show.db", acknowledged);
}

INSTANTIATE_TEST_SUITE_P(Kinds, DiskFaults,
                         ::testing::Values(Case{"write_error", DiskFault::write_error, true},
                                           Case{"short_write", DiskFault::short_write, true},
                                           Case{"one_short_write", DiskFault::short_write, false},
                                           Case{"full", DiskFault::full, true}, Case{"sync_error", DiskFault::sync_error, false},
                                           Case{"lasting_sync_error", DiskFault::sync_error, true}),
                         [](const auto& shown) { return shown.param.name; });

TEST(Disk, AReadErrorIsAFaultAndNoWrongAnswer) {
    const Folder folder;
    FaultyDisk disk;
    {
        Log log = opened(folder / "show.db");
        for (int count = 0; count < 10; ++count)
            ASSERT_TRUE(log.add_take(take("t" + std::to_string(count), static_cast<unsigned>(count), 2), {}).has_value());
    }
    int refused = 0;
    for (int after = 1; after <= 80; ++after) {
        disk.fail(DiskFault::read_error, after, false);
        const auto log = Log::open(folder / "show.db", Mode::read);
        const auto takes = log ? log->takes() : Result<std::vector<TakeRecord>>(std::unexpected(log.error()));
        disk.heal();
        if (takes)
            EXPECT_EQ(takes->size(), 10u);
        else
            ++refused;
    }
    EXPECT_GT(refused, 10);
    EXPECT_EQ(opened(folder / "show.db", Mode::read).takes().value().size(), 10u);
}

TEST(Power, WhatWasAcknowledgedOutlivesACutAtAnyMoment) {
    const Folder folder;
    FaultyDisk disk;
    std::mt19937 random(11);
    std::vector<std::string> acknowledged;
    Log log = opened(folder / "show.db");
    for (int count = 0; count < 40; ++count) {
        const std::string label = "t" + std::to_string(count);
        // Cut before the commit returns (a failing write leaves the transaction half done) and after it.
        if (count % 4 == 3) disk.fail(DiskFault::write_error, 1 + static_cast<int>(random() % 20), true);
        if (log.add_take(take(label, static_cast<unsigned>(count), 2), {})) acknowledged.push_back(label);
        const Folder after;
        disk.cut_power(folder.path(), after.path(), random);
        disk.heal();
        expect_takes(after / "show.db", acknowledged);
        if (HasFailure()) return;
    }
    EXPECT_GE(acknowledged.size(), 30u) << "only every fourth take met a failing disk";
}

// A disk that lies about its syncs can lose what was acknowledged; even then the log is never silently wrong: it opens and
// passes its audit, or it says what is wrong and the rest is recovered.
TEST(Power, ADiskThatLiesIsFoundOut) {
    FaultyDisk disk;
    std::mt19937 random(12);
    int whole = 0, damaged = 0;
    for (int time = 0; time < 40; ++time) {
        const Folder folder, after;
        disk.lose_syncs(false);
        Log log = opened(folder / "show.db");
        for (int count = 0; count < 3; ++count)
            ASSERT_TRUE(log.add_take(take("t" + std::to_string(count), static_cast<unsigned>(count), 2), {}).has_value());
        disk.lose_syncs(true);
        for (int count = 3; count < 9; ++count)
            ASSERT_TRUE(log.add_take(take("t" + std::to_string(count), static_cast<unsigned>(count), 2), {}).has_value());
        disk.cut_power(folder.path(), after.path(), random);
        const auto result = audit(after / "show.db", {});
        if (result && result->sound()) {
            ++whole;
            const auto takes = opened(after / "show.db", Mode::read).takes().value();
            EXPECT_GE(takes.size(), 3u) << "what was synced honestly is there";
            for (const TakeRecord& got : takes)
                EXPECT_EQ(got.evidence[0].evidence.impulse,
                          take(got.label, static_cast<unsigned>(std::stoi(got.label.substr(1))), 2).evidence[0].evidence.impulse);
            continue;
        }
        ++damaged;
        const auto recovered = recover(after / "show.db", after / "new.db", origin());
        if (!recovered) continue;
        EXPECT_GE(recovered->records, 3);
    }
    EXPECT_EQ(whole + damaged, 40);
}

}  // namespace
}  // namespace proofwalk::log
