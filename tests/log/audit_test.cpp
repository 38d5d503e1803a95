// The audit names what was done to a log behind the program's back.
#include <gtest/gtest.h>

#include "log/audit.hpp"
#include "other_program.hpp"
#include "sample.hpp"

namespace proofwalk::log {
namespace {

using namespace sample;

// A log with every kind of record; gives the hash of its sign-off.
std::string write_show(const std::filesystem::path& file) {
    Log log = opened(file);
    EXPECT_TRUE(log.add_plan(sample::plan()).has_value());                                              // 1
    EXPECT_TRUE(log.add_take(take("t01"), recording(2, 200)).has_value());                              // 2
    EXPECT_TRUE(log.add_take(take("t02", 2), {}).has_value());                                          // 3
    EXPECT_TRUE(log.add_judgement(judgement(2, 0, 0), log.newest_basis().value(), origin()).has_value());  // 4
    EXPECT_TRUE(log.add_skip({"aim-v", "M2", "balcony locked", origin()}).has_value());                 // 5
    EXPECT_TRUE(log.add_change({"M1", "re-tilted", origin()}).has_value());                             // 6
    EXPECT_TRUE(log.add_hand_reading({plan::CheckKind::aim_v, "M1", 0.25, 0.5, "x"}, origin()).has_value());  // 7
    EXPECT_TRUE(log.add_gear({"loopback", "interface", "pass", "flat", origin()}).has_value());         // 8
    EXPECT_TRUE(log.add_note({0, "box M1", "rattles", false, {}, origin()}).has_value());               // 9
    const auto sign_off = log.add_sign_off({"engineer", origin(), {{"aim-v", "M2"}}, 1, 3, "digest", "", {"M2"}});  // 10
    std::ofstream(file.string() + ".jpg") << "picture";
    EXPECT_TRUE(log.attach({0, "box M1", "", "", "", 0, "", origin()}, file.string() + ".jpg").has_value());  // 11
    return sign_off.value().hash;
}

Audit audited(const std::filesystem::path& file, const AuditRequest& request = {}) {
    auto result = audit(file, request);
    EXPECT_TRUE(result.has_value()) << (result ? "" : sentence(result.error()));
    return result.value_or(Audit{});
}

TEST(Audit, ASoundLogHasNoFindings) {
    const Folder folder;
    const std::string hash = write_show(folder / "show.db");
    const Audit result = audited(folder / "show.db", {hash, true});
    for (const Finding& finding : result.findings) ADD_FAILURE() << finding.says;
    EXPECT_EQ(result.records, 11);
    EXPECT_EQ(result.recordings, 2);
    EXPECT_EQ(result.anchored, 10);
    EXPECT_EQ(result.chains.size(), 1u);
    EXPECT_EQ(result.heads.size(), 1u);
    EXPECT_TRUE(result.forks.empty());
    EXPECT_EQ(audited(folder / "show.db", {hash.substr(0, 8), false}).anchored, 10);
}

struct Edit {
    const char* sql;
    std::int64_t record;
    Tampering what;
};

class AuditEdits : public ::testing::TestWithParam<Edit> {};

TEST_P(AuditEdits, NameTheFirstRecordConcerned) {
    const Folder folder;
    write_show(folder / "show.db");
    ASSERT_EQ(OtherProgram(folder / "show.db").run_unguarded(GetParam().sql), "");
    const Audit result = audited(folder / "show.db");
    ASSERT_FALSE(result.sound()) << GetParam().sql;
    EXPECT_EQ(result.findings.front().number, GetParam().record) << result.findings.front().says;
    EXPECT_EQ(result.findings.front().what, GetParam().what) << result.findings.front().says;
    EXPECT_TRUE(Log::open(folder / "show.db", Mode::read).has_value()) << "the edit itself was well hidden";
}

INSTANTIATE_TEST_SUITE_P(
    Hidden, AuditEdits,
    ::testing::Values(
        Edit{"UPDATE plan SET name = 'invented hall'", 1, Tampering::changed},
        Edit{"UPDATE take SET label = 't99' WHERE record = 2", 2, Tampering::changed},
        Edit{"UPDATE take SET seconds = seconds + 1e-12 WHERE record = 3", 3, Tampering::changed},
        Edit{"UPDATE reading SET arrival_s = NULL WHERE record = 3 AND place = 1", 3, Tampering::changed},
        Edit{"UPDATE evidence SET body = CAST(substr(body, 1, 100) || x'00' || substr(body, 102) AS BLOB) WHERE record = 2", 2,
             Tampering::changed},
        Edit{"UPDATE verdict SET verdict = 'pass' WHERE record = 4 AND verdict = 'open'", 4, Tampering::changed},
        Edit{"UPDATE skip SET why = ''", 5, Tampering::changed},
        Edit{"UPDATE record SET who = 'Somebody Else' WHERE number = 6", 6, Tampering::changed},
        Edit{"UPDATE record SET utc_s = utc_s - 3600 WHERE number = 7", 7, Tampering::changed},
        Edit{"UPDATE gear SET says = 'Flat'", 8, Tampering::changed},
        Edit{"UPDATE note SET incident = 1", 9, Tampering::changed},
        Edit{"DELETE FROM sign_off_exception", 10, Tampering::changed},
        Edit{"DELETE FROM sign_off_scope", 10, Tampering::changed},
        Edit{"UPDATE sign_off_scope SET subject = 'M1'", 10, Tampering::changed},
        Edit{"UPDATE attachment SET note = 'seen'", 11, Tampering::changed},
        Edit{"UPDATE record SET hash = replace(hash, substr(hash, 1, 4), 'beef') WHERE number = 5", 5, Tampering::inserted},
        Edit{"DELETE FROM reading WHERE record = 3", 3, Tampering::changed},
        Edit{"DELETE FROM skip; DELETE FROM record WHERE number = 5", 6, Tampering::removed},
        Edit{"DELETE FROM attachment; DELETE FROM record WHERE number = 11", 0, Tampering::removed},
        Edit{"INSERT INTO skip SELECT 12, \"check\", subject, why, taken_up FROM skip; INSERT INTO record SELECT 12, kind, "
             "chain, tick + 100000, utc_s, offset_min, who, machine, tool, device, previous, 'ab' || substr(hash, 3) FROM "
             "record WHERE number = 5",
             12, Tampering::inserted},
        Edit{"INSERT INTO skip SELECT 3, \"check\", subject, why, taken_up FROM skip", 3, Tampering::inserted},
        Edit{"UPDATE head SET hash = 'ab' || substr(hash, 3)", 0, Tampering::removed},
        Edit{"UPDATE own_chain SET chain = 'another'", 0, Tampering::bookkeeping}));

// As after the machine's clock was set back by eleven days between two records.
TEST(Chain, OrderOutlivesAClockThatIsSetBack) {
    const Folder folder;
    write_show(folder / "show.db");
    OtherProgram other(folder / "show.db");
    ASSERT_EQ(other.run_unguarded("UPDATE record SET tick = tick + 1000000000000 WHERE number = 11"), "");
    {
        Log log = opened(folder / "show.db");
        ASSERT_TRUE(log.add_note({0, "show", "first", false, {}, origin()}).has_value());
        ASSERT_TRUE(log.add_note({0, "show", "second", false, {}, origin()}).has_value());
    }
    EXPECT_EQ(other.value("SELECT group_concat(number, ' ') FROM (SELECT number FROM record WHERE number > 9 ORDER BY tick)"), "10 11 12 13");
}

TEST(Audit, MissingGuardsAreNamed) {
    const Folder folder;
    write_show(folder / "show.db");
    ASSERT_EQ(OtherProgram(folder / "show.db").run("DROP TRIGGER skip_keeps_rows"), "");
    const Audit result = audited(folder / "show.db");
    ASSERT_EQ(result.findings.size(), 1u);
    EXPECT_EQ(result.findings[0].what, Tampering::bookkeeping);
}

TEST(Audit, ALogWrittenAnewIsFoundByTheHashOnTheSignOff) {
    const Folder folder;
    const std::string hash = write_show(folder / "show.db");
    write_show(folder / "forged.db");
    EXPECT_TRUE(audited(folder / "forged.db").sound());
    const Audit result = audited(folder / "forged.db", {hash, true});
    ASSERT_EQ(result.findings.size(), 1u);
    EXPECT_EQ(result.findings[0].what, Tampering::anchor);
    EXPECT_FALSE(result.anchored.has_value());
}

TEST(Audit, ALogCutShortIsFoundByTheHashOnTheSignOff) {
    const Folder folder;
    const std::string hash = write_show(folder / "show.db");
    // Somebody who knows the log well removes the end and puts its books in order.
    ASSERT_EQ(OtherProgram(folder / "show.db")
                  .run_unguarded("DELETE FROM attachment; DELETE FROM sign_off_exception; DELETE FROM sign_off_scope; DELETE FROM sign_off;"
                                 "DELETE FROM record WHERE number > 9;"
                                 "UPDATE head SET hash = (SELECT hash FROM record WHERE number = 9)"),
              "");
    EXPECT_TRUE(audited(folder / "show.db").sound());
    EXPECT_FALSE(audited(folder / "show.db", {hash, true}).sound());
}

TEST(Audit, RecordingsAreComparedWithTheirHashes) {
    const Folder folder;
    write_show(folder / "show.db");
    std::ofstream(folder / "show.db.takes" / (take("t01").sha256 + ".flac"), std::ios::app) << "x";
    Audit result = audited(folder / "show.db");
    ASSERT_EQ(result.findings.size(), 1u);
    EXPECT_EQ(result.findings[0].number, 2);
    EXPECT_EQ(result.findings[0].what, Tampering::recording);
    EXPECT_TRUE(audited(folder / "show.db", {"", false}).sound());
}

// Every byte of every value of every row: the audit sees each one.
TEST(Audit, AnySingleChangedByteIsFound) {
    const Folder folder;
    write_show(folder / "show.db");
    OtherProgram other(folder / "show.db");
    std::mt19937 random(5);
    struct Column {
        const char* table;
        const char* column;
        const char* where;
    };
    int tried = 0;
    for (const Column& column : {Column{"reading", "body", "record = 2 AND place = 0"}, Column{"evidence", "body", "record = 3 AND place = 1"},
                                 Column{"plan", "bytes", "record = 1"}, Column{"judgement", "body", "record = 4"},
                                 Column{"silence", "body", "record = 2"}}) {
        const std::string from = std::string(" FROM ") + column.table + " WHERE " + column.where;
        const int size = std::stoi(other.value(std::string("SELECT length(") + column.column + ")" + from));
        for (int time = 0; time < 8; ++time, ++tried) {
            const int at = std::uniform_int_distribution<int>(1, size)(random);
            const std::string old = other.value("SELECT hex(substr(" + std::string(column.column) + ", " + std::to_string(at) + ", 1))" + from);
            const auto put = [&](int value) {
                char hex[3];
                std::snprintf(hex, sizeof hex, "%02x", value);
                return other.run_unguarded("UPDATE " + std::string(column.table) + " SET " + column.column + " = CAST(substr(" +
                                           column.column + ", 1, " + std::to_string(at - 1) + ") || x'" + hex + "' || substr(" +
                                           column.column + ", " + std::to_string(at + 1) + ") AS BLOB) WHERE " + column.where);
            };
            const int value = std::stoi(old, nullptr, 16);
            ASSERT_EQ(put(value ^ (1 << (time % 8))), "");
            EXPECT_FALSE(audited(folder / "show.db", {"", false}).sound()) << column.table << " byte " << at;
            ASSERT_EQ(put(value), "");
        }
    }
    EXPECT_TRUE(audited(folder / "show.db", {"", false}).sound());
    EXPECT_EQ(tried, 40);
}

}  // namespace
}  // namespace proofwalk::log
