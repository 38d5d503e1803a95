// What people decide and note: skips, changes, sign-offs, readings by hand, gear.
#include <fmt/format.h>

#include "log/open_log.hpp"
#include "log/plan_records.hpp"

namespace proofwalk::log {
namespace {

// The newest take before a record: kept as the order of records, so that it stays true after a merge.
constexpr std::string_view take_before =
    "(SELECT coalesce(max(number), 0) FROM record AS earlier WHERE earlier.kind = 'take' AND earlier.number < record.number)";

Statement select(const Database& db, std::string_view table, std::string_view columns) {
    return db.prepare(fmt::format("SELECT record.number, {}, {} FROM {} JOIN record ON record.number = {}.record "
                                  "ORDER BY record.number",
                                  columns, origin_columns, table, table));
}

}  // namespace

Result<void> Log::add_skip(const SkipRecord& skip) {
    return as_result([&] {
        impl_->add("skip", skip.origin, [&](std::int64_t number) {
            impl_->db().run("INSERT INTO skip (record, \"check\", subject, why, taken_up) VALUES (?1, ?2, ?3, ?4, ?5)", number,
                            skip.check, skip.subject, skip.why, static_cast<int>(skip.taken_up));
        });
    });
}

Result<std::vector<SkipRecord>> Log::skips() const {
    return as_result([&] {
        std::vector<SkipRecord> list;
        Statement rows = select(impl_->db(), "skip", fmt::format("\"check\", subject, why, taken_up, {}", take_before));
        while (rows.step())
            list.push_back({rows.text(1), rows.text(2), rows.text(3), origin_from(rows, 6), rows.integer(5),
                            rows.integer(4) != 0, rows.integer(0)});
        return list;
    });
}

Result<void> Log::add_change(const ChangeRecord& change) {
    return as_result([&] {
        impl_->add("change", change.origin, [&](std::int64_t number) {
            impl_->db().run("INSERT INTO change (record, subject, what) VALUES (?1, ?2, ?3)", number, change.subject,
                            change.what);
        });
    });
}

Result<std::vector<ChangeRecord>> Log::changes() const {
    return as_result([&] {
        std::vector<ChangeRecord> list;
        Statement rows = select(impl_->db(), "change", fmt::format("subject, what, {}", take_before));
        while (rows.step()) list.push_back({rows.text(1), rows.text(2), origin_from(rows, 4), rows.integer(3), rows.integer(0)});
        return list;
    });
}

Result<SignOff> Log::add_sign_off(const SignOff& sign_off) {
    return as_result([&] {
        const Database& db = impl_->db();
        SignOff signed_off = sign_off;
        signed_off.hash = impl_->add("sign-off", sign_off.origin, [&](std::int64_t number) {
            db.run("INSERT INTO sign_off (record, role, plan, last_take, tally_digest) VALUES (?1, ?2, ?3, ?4, ?5)", number,
                   sign_off.role, plan_hash(db, sign_off.plan_revision), hash_of(db, sign_off.last_take),
                   sign_off.tally_digest);
            std::int64_t place = 0;
            for (const Exception& exception : sign_off.exceptions)
                db.run("INSERT INTO sign_off_exception (record, place, \"check\", subject) VALUES (?1, ?2, ?3, ?4)", number,
                       place++, exception.check, exception.subject);
            place = 0;
            for (const std::string& subject : sign_off.scope)
                db.run("INSERT INTO sign_off_scope (record, place, subject) VALUES (?1, ?2, ?3)", number, place++, subject);
        });
        return signed_off;
    });
}

Result<std::vector<SignOff>> Log::sign_offs() const {
    return as_result([&] {
        const Database& db = impl_->db();
        const Snapshot snapshot(db);
        const auto revisions = plan_revisions(db);
        std::vector<SignOff> list;
        Statement rows = select(db, "sign_off", "role, plan, last_take, tally_digest, hash");
        Statement exceptions =
            db.prepare("SELECT \"check\", subject FROM sign_off_exception WHERE record = ?1 ORDER BY place");
        Statement scope = db.prepare("SELECT subject FROM sign_off_scope WHERE record = ?1 ORDER BY place");
        while (rows.step()) {
            SignOff entry;
            entry.number = rows.integer(0);
            entry.role = rows.text(1);
            if (const auto found = revisions.find(rows.text(2)); found != revisions.end())
                entry.plan_revision = found->second;
            entry.last_take = number_of(db, rows.text(3));
            entry.tally_digest = rows.text(4);
            entry.hash = rows.text(5);
            entry.origin = origin_from(rows, 6);
            exceptions.restart();
            exceptions.bind(rows.integer(0));
            while (exceptions.step()) entry.exceptions.push_back({exceptions.text(0), exceptions.text(1)});
            scope.restart();
            scope.bind(rows.integer(0));
            while (scope.step()) entry.scope.push_back(scope.text(0));
            list.push_back(std::move(entry));
        }
        return list;
    });
}

Result<void> Log::add_hand_reading(const verify::HandReading& reading, const Origin& origin) {
    return as_result([&] {
        impl_->add("hand-reading", origin, [&](std::int64_t number) {
            impl_->db().run("INSERT INTO hand_reading (record, \"check\", subject, value, u, read_by) "
                            "VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
                            number, plan::word(reading.kind), reading.subject, reading.value, reading.u, reading.who);
        });
    });
}

Result<std::vector<verify::HandReading>> Log::hand_readings() const {
    return as_result([&] {
        std::vector<verify::HandReading> list;
        Statement rows = select(impl_->db(), "hand_reading", "\"check\", subject, value, u, read_by");
        while (rows.step()) {
            const auto kind = plan::check_from_word(rows.text(1));
            if (!kind) throw damaged_record(impl_->db(), rows.integer(0), "a reading by hand of no known check");
            list.push_back({*kind, rows.text(2), rows.real(3), rows.real(4), rows.text(5)});
        }
        return list;
    });
}

Result<void> Log::add_gear(const GearRecord& gear) {
    return as_result([&] {
        impl_->add("gear", gear.origin, [&](std::int64_t number) {
            impl_->db().run("INSERT INTO gear (record, \"check\", subject, verdict, says) VALUES (?1, ?2, ?3, ?4, ?5)", number,
                            gear.check, gear.subject, gear.verdict, gear.says);
        });
    });
}

Result<std::vector<GearRecord>> Log::gear() const {
    return as_result([&] {
        std::vector<GearRecord> list;
        Statement rows = select(impl_->db(), "gear", "\"check\", subject, verdict, says");
        while (rows.step())
            list.push_back({rows.text(1), rows.text(2), rows.text(3), rows.text(4), origin_from(rows, 5)});
        return list;
    });
}

}  // namespace proofwalk::log
