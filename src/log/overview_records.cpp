// Short answers over all records, for overviews: no evidence, no readings.
#include <fmt/format.h>

#include "log/open_log.hpp"

namespace proofwalk::log {

Result<std::vector<TakeTime>> Log::take_times() const {
    return as_result([&] {
        // The second record of a recording that two merged logs both hold is no take of its own.
        Statement rows = impl_->db().prepare(
            "SELECT take.record, utc_s, offset_min, "
            "(SELECT group_concat(circuit, '+') FROM (SELECT circuit FROM take_circuit WHERE record = take.record ORDER BY place)), "
            "(SELECT group_concat(mic || '@' || position, ' ') FROM (SELECT DISTINCT mic, position FROM reading "
            "WHERE record = take.record ORDER BY mic, position)) "
            "FROM take JOIN record ON record.number = take.record "
            "WHERE NOT EXISTS (SELECT 1 FROM take AS earlier WHERE earlier.sha256 = take.sha256 AND earlier.record < take.record) "
            "ORDER BY take.record");
        std::vector<TakeTime> list;
        while (rows.step())
            list.push_back({rows.integer(0), {rows.integer(1), static_cast<std::int32_t>(rows.integer(2))}, rows.text(3),
                            rows.text(4)});
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
