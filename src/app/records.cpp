#include "app/records.hpp"

#include <algorithm>

#include "app/sheets.hpp"
#include "app/tally_table.hpp"
#include "walk/written_report.hpp"

namespace proofwalk::app {
namespace {

bool has(const std::vector<std::string>& words, const std::string& word) {
    return std::ranges::find(words, word) != words.end();
}

}  // namespace

const verify::CheckResult* Records::check(const walk::CheckName& name) const {
    for (const auto& result : page.tally.checks)
        if (result.kind == name.kind && result.subject == name.subject) return &result;
    return nullptr;
}

const verify::Fit* Records::fit(const std::string& box) const {
    for (const auto& candidate : page.tally.fits)
        if (candidate.box == box) return &candidate;
    return nullptr;
}

void Records::lay_out() {
    room = report::room_layout(page.plan, page.tally.fits);
    planned_room = report::room_layout(page.plan, {});
    heard.clear();
    for (const auto& row : page.readings) heard.insert(row.taken.circuit);
    worst.clear();
    for (const auto& check : page.tally.checks) {
        if (check.subject.find('+') != std::string::npos) continue;
        const auto [at, fresh] = worst.try_emplace(first_box_of(page.plan, check.subject), check.verdict);
        if (!fresh && rank_of(check.verdict) < rank_of(at->second)) at->second = check.verdict;
    }
}

Result<Records> gather(const walk::Show& show, const WalkSetup& setup, const std::vector<walk::Round>& rounds) {
    Records records;
    auto page = walk::report_show(show, walk::Curves::without);
    if (!page) return std::unexpected(page.error());
    records.page = std::move(*page);
    auto takes = show.log.takes(false);
    if (!takes) return std::unexpected(takes.error());
    auto gear = show.log.gear();
    if (!gear) return std::unexpected(gear.error());
    records.gear = std::move(*gear);
    records.takes = takes->size();
    records.planned = plan::checks(show.plan.plan);
    records.warnings = show.plan.warnings;
    records.log_file = show.log.file();
    records.path = walk::path_of(show.plan.plan, rounds, *takes, records.page.readings, records.page.tally.checks, setup.pace);
    walk::route::Crew crew;
    crew.mics = std::max(1, setup.mics);
    crew.take_s = setup.pace.signal_s;
    const auto times = show.log.take_times();
    if (!times) return std::unexpected(times.error());
    records.steps_taken = walk::timed_steps(show.plan.plan, *times, crew);
    auto stored = show.log.newest_plan();
    if (!stored) return std::unexpected(stored.error());
    records.plan_text = show.plan.bytes;
    if (*stored) records.plan_folder = (*stored)->folder;
    if (!setup.rehearse) records.gear_warning = gear_warning(records.gear, now().utc_s);
    records.lay_out();
    return records;
}

std::vector<Card> cards_of(const log::TakeRecord& take) {
    std::vector<Card> cards;
    for (const auto& heard : take.evidence)
        cards.push_back({heard.position, heard.mic, heard.circuit, take.label, heard.reading, std::nullopt, {}, nullptr});
    for (const auto& quiet : take.silence) {
        Card card{quiet.position, quiet.mic, "", take.label, std::nullopt, std::nullopt, {}, nullptr};
        for (std::size_t band = 0; band < band_count; ++band)
            if (quiet.level_dbfs.has(band))
                card.noise_dbfs = std::max(card.noise_dbfs.value_or(quiet.level_dbfs[band]), quiet.level_dbfs[band]);
        cards.push_back(std::move(card));
    }
    return cards;
}

void add_meaning(std::vector<Card>& cards, const RecordsPtr& records) {
    for (Card& card : cards) {
        card.meaning.clear();
        card.records = records;
        for (const auto& planned : records->planned) {
            if (!has(planned.circuits, card.circuit)) continue;
            if (!planned.positions.empty() && !has(planned.positions, card.position)) continue;
            const verify::CheckResult* result = records->check({planned.kind, planned.subject});
            if (result != nullptr && result->verdict != verify::Verdict::open) card.meaning.push_back(result);
        }
        std::ranges::stable_sort(card.meaning, {}, [](const auto* result) { return rank_of(result->verdict); });
    }
}

}  // namespace proofwalk::app
