// The tally as a table: a row a subject, a column a kind of check that the plan asks.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "app/records.hpp"

namespace proofwalk::app {

inline constexpr std::array<plan::CheckKind, 11> tally_kinds = {plan::CheckKind::sounding, plan::CheckKind::polarity, plan::CheckKind::response, plan::CheckKind::level,
                                                                plan::CheckKind::arrival, plan::CheckKind::aim_h, plan::CheckKind::aim_v, plan::CheckKind::splay,
                                                                plan::CheckKind::spacing, plan::CheckKind::crossover, plan::CheckKind::alignment};

struct TallyRow {
    std::string subject;
    std::array<const verify::CheckResult*, tally_kinds.size()> cells{};  // into the records; null: not asked
    std::size_t worst = 0;                                               // its rank
};

// What a table is made from.
struct TallyKey {
    RecordsPtr records;
    std::optional<verify::Verdict> only;
    std::size_t order = 0;  // as planned, worst first, by name
    friend bool operator==(const TallyKey&, const TallyKey&) = default;
};
struct TallyTable {
    TallyKey key;
    std::vector<TallyRow> rows;
    std::vector<std::size_t> columns;  // into tally_kinds
};
[[nodiscard]] TallyTable tally_table(const TallyKey& key);

// What to act on first: 0 for a fail.
[[nodiscard]] std::size_t rank_of(verify::Verdict verdict);

}  // namespace proofwalk::app
