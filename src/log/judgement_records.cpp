#include "log/judgement_records.hpp"

#include <fmt/format.h>

#include "log/bytes.hpp"
#include "log/open_log.hpp"
#include "log/plan_records.hpp"

namespace proofwalk::log {
namespace {

// Records that a verdict can depend on.
constexpr std::string_view evidence_kinds = "'plan', 'take', 'change', 'hand-reading', 'gear'";

std::int64_t newest_of(const Database& db, std::string_view kind) {
    return db.find_integer("SELECT max(number) FROM record WHERE kind = ?1", kind).value_or(0);
}

std::int64_t evidence_before(const Database& db, std::int64_t number) {
    return db.find_integer(
                 fmt::format("SELECT count(*) FROM record WHERE kind IN ({}) AND number < ?1", evidence_kinds), number)
        .value_or(0);
}

int newest_revision(const Database& db) {
    int newest = 0;
    for (const auto& [hash, revision] : plan_revisions(db)) newest = std::max(newest, revision);
    return newest;
}

struct Base {
    std::int64_t number = 0;
    std::string hash;
    std::int64_t depth = 0;
};

Base newest_base(const Database& db) {
    Statement row = db.prepare("SELECT judgement.record, record.hash, depth FROM judgement JOIN record "
                               "ON record.number = judgement.record ORDER BY judgement.record DESC LIMIT 1");
    if (!row.step()) return {};
    return {row.integer(0), row.text(1), row.integer(2)};
}

void write_verdicts(const Database& db, std::int64_t number, const verify::Judgement& judgement,
                    const std::vector<std::size_t>& places) {
    Statement insert = db.prepare(
        "INSERT INTO verdict (record, place, \"check\", subject, verdict, unit, says, value, uncertainty) "
        "VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)");
    for (const std::size_t place : places) {
        const verify::CheckResult& result = judgement.checks[place];
        insert.restart();
        insert.bind(number).bind(static_cast<std::int64_t>(place)).bind(plan::word(result.kind)).bind(result.subject);
        insert.bind(verify::word(result.verdict)).bind(result.unit).bind(result.says);
        insert.bind(result.value).bind(result.uncertainty);
        insert.step();
    }
}

std::optional<PackedJudgement> load(const Database& db, std::int64_t number) {
    try {
        return load_judgement(db, number);
    } catch (const BadBytes&) {
        throw damaged_record(db, number, "its judgement cannot be unpacked");
    }
}

Basis read_basis(const Database& db, const Statement& row, int first, std::int64_t number, std::int64_t stands_on) {
    // After a merge there can be evidence before this judgement that it never saw: then nothing of it is newest.
    if (evidence_before(db, number) != stands_on) return {};
    Basis basis;
    if (const auto revisions = plan_revisions(db); revisions.contains(row.text(first)))
        basis.plan_revision = revisions.at(row.text(first));
    basis.last_take = number_of(db, row.text(first + 1));
    basis.last_change = number_of(db, row.text(first + 2));
    basis.last_hand_reading = number_of(db, row.text(first + 3));
    basis.last_gear = number_of(db, row.text(first + 4));
    return basis;
}

}  // namespace

std::optional<PackedJudgement> load_judgement(const Database& database, std::int64_t number) {
    std::vector<std::vector<std::byte>> differences;
    Statement row = database.prepare("SELECT base, depth, body FROM judgement WHERE record = ?1");
    for (std::int64_t record = number;;) {
        row.restart();
        row.bind(record);
        if (!row.step()) return std::nullopt;
        const auto body = row.blob(2);
        differences.emplace_back(body.begin(), body.end());
        if (row.integer(1) == 0) break;
        const std::int64_t base = number_of(database, row.text(0));
        if (base >= record) throw damaged_record(database, record, "a judgement stands on a later one");
        record = base;
    }
    PackedJudgement judgement;
    for (auto difference = differences.rbegin(); difference != differences.rend(); ++difference)
        judgement = applied(judgement, *difference);
    return judgement;
}

Result<Basis> Log::newest_basis() const {
    return as_result([&] {
        const Database& db = impl_->db();
        const Snapshot snapshot(db);
        return Basis{newest_revision(db), newest_of(db, "take"), newest_of(db, "change"), newest_of(db, "hand-reading"),
                     newest_of(db, "gear")};
    });
}

Result<void> Log::add_judgement(const verify::Judgement& judgement, const Basis& basis, const Origin& origin) {
    return as_result([&] {
        const Database& db = impl_->db();
        impl_->add("judgement", origin, [&](std::int64_t number) {
            const Base newest = newest_base(db);
            const PackedJudgement target = packed(judgement);
            const auto known = newest.number == 0 ? std::nullopt : load(db, newest.number);
            const bool whole = !known || newest.depth + 1 >= most_differences;
            const PackedJudgement before = known.value_or(PackedJudgement{});
            db.run("INSERT INTO judgement (record, base, depth, plan, last_take, last_change, last_hand_reading, last_gear, "
                   "stands_on, body) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)",
                   number, whole ? std::string{} : newest.hash, whole ? 0 : newest.depth + 1,
                   plan_hash(db, basis.plan_revision), hash_of(db, basis.last_take), hash_of(db, basis.last_change),
                   hash_of(db, basis.last_hand_reading), hash_of(db, basis.last_gear), evidence_before(db, number),
                   difference(whole ? PackedJudgement{} : before, target));
            write_verdicts(db, number, judgement, changed_checks(before, target));
        });
    });
}

Result<std::optional<StoredJudgement>> Log::newest_judgement() const {
    return as_result([&]() -> std::optional<StoredJudgement> {
        const Database& db = impl_->db();
        const Snapshot snapshot(db);
        Statement row = db.prepare(fmt::format(
            "SELECT record, stands_on, plan, last_take, last_change, last_hand_reading, last_gear, {} FROM judgement "
            "JOIN record ON record.number = judgement.record ORDER BY record DESC LIMIT 1",
            origin_columns));
        if (!row.step()) return std::nullopt;
        const std::int64_t number = row.integer(0);
        const auto judgement = load(db, number);
        if (!judgement) return std::nullopt;
        try {
            return StoredJudgement{judgement_from(*judgement), read_basis(db, row, 2, number, row.integer(1)),
                                   origin_from(row, 7)};
        } catch (const BadBytes&) {
            throw damaged_record(db, number, "its judgement cannot be unpacked");
        }
    });
}

}  // namespace proofwalk::log
