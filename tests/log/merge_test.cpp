// Merging logs: nothing lost, nothing double, the same in any order.
#include <gtest/gtest.h>

#include <map>

#include "log/audit.hpp"
#include "log/merge.hpp"
#include "other_program.hpp"
#include "sample.hpp"

namespace proofwalk::log {
namespace {

using namespace sample;
using Paths = std::vector<std::filesystem::path>;

// Everything that a log holds, as text.
std::string dump(const std::filesystem::path& file) {
    sqlite3* connection = nullptr;
    sqlite3_open(file.c_str(), &connection);
    std::string text;
    const auto add_rows = [&](const std::string& sql) {
        sqlite3_stmt* statement = nullptr;
        sqlite3_prepare_v2(connection, sql.c_str(), -1, &statement, nullptr);
        while (sqlite3_step(statement) == SQLITE_ROW) {
            for (int column = 0; column < sqlite3_column_count(statement); ++column)
                text += std::string(static_cast<const char*>(sqlite3_column_blob(statement, column))
                                        ? static_cast<const char*>(sqlite3_column_blob(statement, column))
                                        : "",
                                    static_cast<std::size_t>(sqlite3_column_bytes(statement, column))) +
                        "|";
            text += "\n";
        }
        sqlite3_finalize(statement);
    };
    for (const std::string table : {"plan", "take", "take_circuit", "raw_file", "reading", "evidence", "silence", "calibration",
                                    "judgement", "verdict", "skip", "change", "sign_off", "sign_off_exception", "sign_off_scope", "hand_reading",
                                    "gear", "attachment", "note"})
        add_rows("SELECT * FROM " + table + " ORDER BY 1, 2");
    add_rows("SELECT * FROM record ORDER BY number");
    add_rows("SELECT * FROM head ORDER BY 1");
    sqlite3_close(connection);
    return text;
}

void merge_or_fail(const Paths& sources, const std::filesystem::path& into) {
    const auto merged = merge(sources, into);
    ASSERT_TRUE(merged.has_value()) << sentence(merged.error());
    const auto result = audit(into, {});
    ASSERT_TRUE(result.has_value());
    for (const Finding& finding : result->findings) ADD_FAILURE() << finding.says;
}

// Random records: the takes come from a small stock, so that logs share some.
void write_some(Log& log, std::mt19937& random, int count) {
    const auto pick = [&](int below) { return std::uniform_int_distribution<int>(0, below - 1)(random); };
    for (int step = 0; step < count; ++step) switch (pick(8)) {
            case 0: ASSERT_TRUE(log.add_plan(sample::plan("plan " + std::to_string(pick(3)))).has_value()); break;
            case 1:
            case 2:
            case 3: {
                const int which = pick(12);
                ASSERT_TRUE(log.add_take(take("t" + std::to_string(which), static_cast<unsigned>(which), 1),
                                         pick(3) == 0 ? recording(1, 20) : std::vector<std::vector<float>>{})
                                .has_value());
                break;
            }
            case 4: ASSERT_TRUE(log.add_judgement(judgement(3, pick(3), step), log.newest_basis().value(), origin()).has_value()); break;
            case 5: ASSERT_TRUE(log.add_skip({"level", "M1", "why " + std::to_string(step), origin()}).has_value()); break;
            case 6: ASSERT_TRUE(log.add_change({"M2", "moved", origin("Ben Example")}).has_value()); break;
            default: ASSERT_TRUE(log.add_sign_off({"engineer", origin(), {}, 1, 0, "", ""}).has_value()); break;
        }
}

TEST(Merge, IsCommutativeAssociativeAndIdempotent) {
    for (unsigned seed = 1; seed <= 6; ++seed) {
        const Folder folder;
        std::mt19937 random(seed);
        const auto a = folder / "a.db", b = folder / "b.db", c = folder / "c.db";
        {
            Log first = opened(a), second = opened(b);
            write_some(first, random, 6);
            write_some(second, random, 6);
            write_some(first, random, 6);
            if (seed % 2 == 0) {
                // A copy of the first that goes on by itself.
                std::filesystem::remove(c);
                { const auto copied = merge({a}, c); ASSERT_TRUE(copied.has_value()); }
            }
            Log third = opened(c);
            write_some(third, random, 6);
            write_some(first, random, 3);
        }
        merge_or_fail({a, b}, folder / "ab.db");
        merge_or_fail({b, a}, folder / "ba.db");
        merge_or_fail({b, c}, folder / "bc.db");
        merge_or_fail({folder / "ab.db", c}, folder / "ab_c.db");
        merge_or_fail({a, folder / "bc.db"}, folder / "a_bc.db");
        merge_or_fail({c, b, a}, folder / "cba.db");
        merge_or_fail({folder / "ab.db", a}, folder / "ab_a.db");
        merge_or_fail({a, a}, folder / "aa.db");
        EXPECT_EQ(dump(folder / "ab.db"), dump(folder / "ba.db")) << "seed " << seed;
        EXPECT_EQ(dump(folder / "ab_c.db"), dump(folder / "a_bc.db")) << "seed " << seed;
        EXPECT_EQ(dump(folder / "ab_c.db"), dump(folder / "cba.db")) << "seed " << seed;
        EXPECT_EQ(dump(folder / "ab_a.db"), dump(folder / "ab.db")) << "seed " << seed;
        EXPECT_EQ(dump(folder / "aa.db"), dump(a)) << "seed " << seed;
    }
}

TEST(Merge, LosesNothingAndDoublesNothing) {
    const Folder folder;
    std::string signed_hash;
    {
        Log a = opened(folder / "a.db"), b = opened(folder / "b.db");
        ASSERT_TRUE(a.add_plan(sample::plan()).has_value());
        ASSERT_TRUE(b.add_plan(sample::plan()).has_value());
        ASSERT_TRUE(a.add_take(take("t01"), recording(2, 50)).has_value());
        ASSERT_TRUE(b.add_take(take("t02"), recording(9, 50)).has_value());
        ASSERT_TRUE(b.add_take(take("t01"), recording(2, 50)).has_value());
        ASSERT_TRUE(a.add_take(take("t03"), {}).has_value());
        ASSERT_TRUE(a.add_change({"M1", "re-tilted", origin()}).has_value());
        signed_hash = b.add_sign_off({"engineer", origin(), {}, 1, 2, "", ""}).value().hash;
    }
    const auto merged = merge({folder / "a.db", folder / "b.db"}, folder / "c.db").value();
    EXPECT_EQ(merged.records, 8);
    EXPECT_EQ(merged.added, (std::vector<std::int64_t>{4, 4}));
    EXPECT_EQ(merged.shared, 0);
    EXPECT_TRUE(merged.missing_files.empty());
    const Log c = opened(folder / "c.db");
    EXPECT_EQ(c.plans().value().size(), 1u) << "one plan, though both logs began with it";
    const auto takes = c.takes().value();
    ASSERT_EQ(takes.size(), 3u);
    EXPECT_EQ(takes[0].label, "t01");
    EXPECT_EQ(takes[1].label, "t02");
    EXPECT_EQ(takes[2].label, "t03");
    for (const TakeRecord& entry : takes) EXPECT_EQ(entry.plan_revision, 1);
    EXPECT_EQ(c.raw_channels(takes[1].number).value(), recording(9, 50));
    EXPECT_GE(c.changes().value()[0].after_take, takes[2].number) << "in the order in which it happened";
    const auto result = audit(folder / "c.db", {signed_hash, true}).value();
    EXPECT_TRUE(result.sound());
    EXPECT_EQ(result.chains.size(), 2u);
    EXPECT_EQ(result.heads.size(), 2u);
}

TEST(Merge, GoesOnAsOneLog) {
    const Folder folder;
    {
        Log a = opened(folder / "a.db"), b = opened(folder / "b.db");
        ASSERT_TRUE(a.add_take(take("t01"), {}).has_value());
        ASSERT_TRUE(b.add_take(take("t02"), {}).has_value());
        ASSERT_TRUE(b.add_judgement(judgement(1, 0, 0), b.newest_basis().value(), origin()).has_value());
    }
    ASSERT_TRUE(merge({folder / "a.db", folder / "b.db"}, folder / "c.db").has_value());
    Log c = opened(folder / "c.db");
    EXPECT_NE(c.newest_judgement().value()->basis, c.newest_basis().value()) << "it never saw t01";
    const std::string hash = c.add_sign_off({"engineer", origin(), {}, 0, 0, "", ""}).value().hash;
    const auto result = audit(folder / "c.db", {hash, true}).value();
    EXPECT_TRUE(result.sound());
    EXPECT_EQ(result.heads, std::vector<std::string>{hash}) << "the next record ties both chains together";
    EXPECT_EQ(result.anchored, 4);
    EXPECT_EQ(result.chains.size(), 3u);
}

TEST(Merge, ShowsWhereTheLogsDiffer) {
    const Folder folder;
    {
        Log a = opened(folder / "a.db"), b = opened(folder / "b.db");
        ASSERT_TRUE(a.add_plan(sample::plan()).has_value());
        ASSERT_TRUE(b.add_plan(sample::plan("name = \"moved\"")).has_value());
        ASSERT_TRUE(a.add_take(take("t01", 1), {}).has_value());
        ASSERT_TRUE(b.add_take(take("t01", 2), {}).has_value());
        TakeRecord other = take("t02");
        ASSERT_TRUE(a.add_take(other, {}).has_value());
        other.sha256 = sha256("another recording");
        ASSERT_TRUE(b.add_take(other, {}).has_value());
        ASSERT_TRUE(a.add_judgement(judgement(2, 1, 0), a.newest_basis().value(), origin()).has_value());
        ASSERT_TRUE(b.add_judgement(judgement(2, 1, 1), b.newest_basis().value(), origin()).has_value());
        ASSERT_TRUE(a.add_skip({"level", "M2", "no time", origin()}).has_value());
        ASSERT_TRUE(a.add_sign_off({"engineer", origin(), {}, 1, 0, "", ""}).has_value());
    }
    const auto merged = merge({folder / "a.db", folder / "b.db"}, folder / "c.db").value();
    std::map<std::string, int> count;
    for (const Conflict& conflict : merged.conflicts) ++count[conflict.what];
    EXPECT_EQ(count["plan"], 1);
    EXPECT_EQ(count["take"], 1);
    EXPECT_EQ(count["label"], 1);
    EXPECT_EQ(count["skip"], 1);
    EXPECT_EQ(count["sign-off"], 1);
    EXPECT_GT(count["verdict"], 0);
    const auto swapped = merge({folder / "b.db", folder / "a.db"}, folder / "d.db").value();
    ASSERT_EQ(swapped.conflicts.size(), merged.conflicts.size());
    for (std::size_t place = 0; place < swapped.conflicts.size(); ++place)
        EXPECT_EQ(swapped.conflicts[place].says, merged.conflicts[place].says);
}

TEST(Merge, TakesLogsOfVersion1) {
    const Folder folder;
    const std::filesystem::path fixture = PROOFWALK_SOURCE_DIR "/tests/log/fixtures/version1.db";
    { Log b = opened(folder / "b.db"); ASSERT_TRUE(b.add_take(take("t77"), {}).has_value()); }
    std::filesystem::copy_file(fixture, folder / "a.db");
    const auto merged = merge({folder / "a.db", folder / "b.db"}, folder / "c.db").value();
    EXPECT_EQ(merged.records, 11);
    EXPECT_EQ(merged.missing_files.size(), 1u) << "the raw recording stayed behind";
    EXPECT_TRUE(audit(folder / "c.db", {"", false})->sound());
}

TEST(Merge, RefusesWhatIsNotSoundAndOverwritesNothing) {
    const Folder folder;
    {
        Log a = opened(folder / "a.db"), b = opened(folder / "b.db");
        ASSERT_TRUE(a.add_take(take("t01"), {}).has_value());
        ASSERT_TRUE(b.add_take(take("t02"), {}).has_value());
    }
    EXPECT_EQ(merge({folder / "a.db", folder / "b.db"}, folder / "a.db").error().kind, FaultKind::input);
    ASSERT_EQ(OtherProgram(folder / "b.db").run_unguarded("UPDATE take SET label = 't03'"), "");
    const auto refused = merge({folder / "a.db", folder / "b.db"}, folder / "c.db");
    ASSERT_FALSE(refused.has_value());
    EXPECT_NE(sentence(refused.error()).find("does not pass its audit"), std::string::npos);
    EXPECT_FALSE(std::filesystem::exists(folder / "c.db"));
    EXPECT_FALSE(merge({folder / "a.db", folder / "missing.db"}, folder / "c.db").has_value());
    for (const auto& entry : std::filesystem::directory_iterator(folder.path()))
        EXPECT_NE(entry.path().extension(), ".part") << entry.path();
}

}  // namespace
}  // namespace proofwalk::log
