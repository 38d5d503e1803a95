// Short answers over all records, for overviews: no evidence, no readings.
#include <fmt/format.h>

#include <algorithm>
#include <unordered_set>

#include "log/open_log.hpp"

namespace proofwalk::log {
namespace {

// The second record of a recording that two merged logs both hold is no take of its own.
std::vector<TakeTime> bare_times(const Database& db) {
    std::vector<TakeTime> list;
    std::unordered_set<std::string> seen;
    Statement rows = db.prepare("SELECT take.record, utc_s, offset_min, take.sha256, take.label, device FROM take "
                                "JOIN record ON record.number = take.record ORDER BY take.record");
    while (rows.step())
        if (seen.insert(rows.text(3)).second)
            list.push_back({rows.integer(0), {rows.integer(1), static_cast<std::int32_t>(rows.integer(2))}, "", "", rows.text(4), rows.text(5)});
    return list;
}

// Place of a record in the list, which is in the order of the records; none for a second record of a recording.
std::optional<std::size_t> place_of(const std::vector<TakeTime>& list, std::int64_t record) {
    const auto found = std::ranges::lower_bound(list, record, {}, &TakeTime::number);
    if (found == list.end() || found->number != record) return std::nullopt;
    return static_cast<std::size_t>(found - list.begin());
}

void add_circuits(const Database& db, std::vector<TakeTime>& list) {
    Statement rows = db.prepare("SELECT record, circuit FROM take_circuit ORDER BY record, place");
    while (rows.step())
        if (const auto place = place_of(list, rows.integer(0))) {
            std::string& circuit = list[*place].circuit;
            circuit += (circuit.empty() ? "" : "+") + rows.text(1);
        }
}

// One pass over the whole index, or over the table of an older log, which has none: a search for each take would cost
// several times as much.
void add_places(const Database& db, std::vector<TakeTime>& list) {
    std::vector<std::vector<std::pair<std::string, std::string>>> heard(list.size());  // mic and position
    Statement rows = db.prepare("SELECT record, mic, position FROM reading");
    while (rows.step())
        if (const auto place = place_of(list, rows.integer(0))) heard[*place].emplace_back(rows.text(1), rows.text(2));
    for (std::size_t take = 0; take < list.size(); ++take) {
        std::ranges::sort(heard[take]);
        const auto twice = std::ranges::unique(heard[take]);
        heard[take].erase(twice.begin(), twice.end());
        for (const auto& [mic, position] : heard[take])
            list[take].places += (list[take].places.empty() ? "" : " ") + mic + "@" + position;
    }
}

}  // namespace

Result<std::vector<TakeTime>> Log::take_times() const {
    return as_result([&] {
        const Snapshot snapshot(impl_->db());
        std::vector<TakeTime> list = bare_times(impl_->db());
        add_circuits(impl_->db(), list);
        add_places(impl_->db(), list);
        return list;
    });
}

Result<std::vector<std::string>> Log::people() const {
    return as_result([&] {
        Statement rows = impl_->db().prepare("SELECT DISTINCT who FROM record WHERE who <> '' ORDER BY who");
        std::vector<std::string> list;
        while (rows.step()) list.push_back(rows.text(0));
        return list;
    });
}

Result<std::vector<std::pair<std::string, std::string>>> Log::ever_failed() const {
    return as_result([&] {
        Statement rows = impl_->db().prepare("SELECT DISTINCT subject, \"check\" FROM verdict WHERE verdict = 'fail'");
        std::vector<std::pair<std::string, std::string>> list;
        while (rows.step()) list.emplace_back(rows.text(0), rows.text(1));
        return list;
    });
}

}  // namespace proofwalk::log
