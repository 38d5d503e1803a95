#include "log/plan_records.hpp"

#include "log/open_log.hpp"
#include "units/sha256.hpp"

namespace proofwalk::log {
namespace {

// Calls take(revision, whether it begins with this record, row) for every plan record in order. The row has sha256 and
// hash, then `columns`.
template <class Take>
void each_plan(const Database& database, std::string_view columns, Take take) {
    Statement rows = database.prepare("SELECT plan.sha256, record.hash" + std::string{columns} +
                                      " FROM plan JOIN record ON record.number = plan.record ORDER BY record.number");
    std::string last;
    int revision = 0;
    while (rows.step()) {
        const std::string sha = rows.text(0);
        const bool fresh = revision == 0 || sha != last;
        if (fresh) ++revision;
        last = sha;
        take(revision, fresh, rows);
    }
}

}  // namespace

std::map<std::string, int> plan_revisions(const Database& database) {
    std::map<std::string, int> revisions;
    each_plan(database, "", [&](int revision, bool, const Statement& row) { revisions[row.text(1)] = revision; });
    return revisions;
}

std::string plan_hash(const Database& database, int wanted) {
    std::string hash;
    each_plan(database, "", [&](int revision, bool fresh, const Statement& row) {
        if (fresh && revision == wanted) hash = row.text(1);
    });
    return hash;
}

Result<int> Log::add_plan(const PlanRevision& plan) {
    return as_result([&] {
        const Database& db = impl_->db();
        const std::string sha = sha256(plan.bytes);
        Transaction transaction(db);
        const auto newest = db.find_text("SELECT sha256 FROM plan ORDER BY record DESC LIMIT 1");
        if (newest != sha) {
            const std::int64_t number = next_number(db);
            db.run("INSERT INTO plan (record, name, bytes, sha256, folder) VALUES (?1, ?2, ?3, ?4, ?5)", number, plan.name,
                   std::as_bytes(std::span{plan.bytes.data(), plan.bytes.size()}), sha, plan.folder);
            append(db, number, "plan", plan.origin);
        }
        transaction.commit();
        int last = 0;
        each_plan(db, "", [&](int revision, bool, const Statement&) { last = revision; });
        return last;
    });
}

Result<std::vector<PlanRevision>> Log::plans() const {
    return as_result([&] {
        std::vector<PlanRevision> list;
        each_plan(impl_->db(), ", name, bytes, folder, utc_s, offset_min, who, machine, tool, device",
                  [&](int revision, bool fresh, const Statement& row) {
                      if (!fresh) return;
                      const auto bytes = row.blob(3);
                      list.push_back({revision, row.text(2),
                                      std::string(reinterpret_cast<const char*>(bytes.data()), bytes.size()), row.text(0),
                                      row.text(4), origin_from(row, 5)});
                  });
        return list;
    });
}

Result<std::optional<PlanRevision>> Log::newest_plan() const {
    auto list = plans();
    if (!list) return std::unexpected(std::move(list.error()));
    if (list->empty()) return std::nullopt;
    return std::move(list->back());
}

}  // namespace proofwalk::log
