#include "app/tally_table.hpp"

#include <algorithm>
#include <map>

#include "report/verdict_marks.hpp"

namespace proofwalk::app {

std::size_t rank_of(verify::Verdict verdict) {
    std::size_t place = 0;
    while (place < report::verdict_marks.size() && report::verdict_marks[place].verdict != verdict) ++place;
    return place;
}

TallyTable tally_table(const TallyKey& key) {
    TallyTable table{key, {}, {}};
    std::map<std::string, std::size_t> place;
    for (const auto& check : key.records->page.tally.checks) {
        if (key.only && check.verdict != *key.only) continue;
        const auto [at, is_new] = place.try_emplace(check.subject, table.rows.size());
        if (is_new) table.rows.push_back({check.subject, {}, report::verdict_marks.size()});
        TallyRow& row = table.rows[at->second];
        row.cells[static_cast<std::size_t>(check.kind)] = &check;
        row.worst = std::min(row.worst, rank_of(check.verdict));
    }
    if (key.order == 1) std::ranges::stable_sort(table.rows, {}, &TallyRow::worst);
    if (key.order == 2) std::ranges::stable_sort(table.rows, {}, &TallyRow::subject);
    for (std::size_t k = 0; k < tally_kinds.size(); ++k)
        if (std::ranges::any_of(key.records->planned, [&](const auto& planned) { return planned.kind == tally_kinds[k]; })) table.columns.push_back(k);
    return table;
}

}  // namespace proofwalk::app
