// The review of many logs as tables.
#include <fmt/format.h>

#include "log/review.hpp"
#include "walk/log_care.hpp"
#include "walk/show.hpp"
#include "walk/timed_steps.hpp"

namespace proofwalk::walk {
namespace {

using report::RecordTable;
using report::Value;

std::int64_t count(int value) { return value; }

// A show by its date, or by its file where it has no take.
std::string name_of(const log::ReviewedShow& show) {
    return show.first_take ? to_text(*show.first_take).substr(0, 10) + " " + show.file.filename().string()
                           : show.file.filename().string();
}

RecordTable shows_table(const log::Review& review) {
    RecordTable table{"shows", "Shows",
                      {"show", "plan", "pass", "fail", "unsure", "open", "skipped", "takes", "changes", "incidents", "sign_offs",
                       "walk_min", "pauses_min", "people"},
                      {}};
    for (const log::ReviewedShow& show : review.shows)
        table.rows.push_back({name_of(show), show.plan_name, count(show.counts.pass), count(show.counts.fail),
                              count(show.counts.unsure), count(show.counts.open), count(show.counts.skipped), count(show.takes),
                              count(show.changes), count(show.incidents), count(show.sign_offs), show.walk_s / 60.0,
                              show.pauses_s / 60.0, show.people});
    return table;
}

RecordTable left_out_table(const log::Review& review, log::LeftOutHow how, std::string key, std::string title) {
    RecordTable table{std::move(key), std::move(title), {"show", "check", "subject", "who", "when", "why"}, {}};
    for (const log::LeftOut& entry : review.left_out)
        if (entry.how == how)
            table.rows.push_back({name_of(review.shows[entry.show]), entry.check, entry.subject, entry.who, to_text(entry.when), entry.why});
    return table;
}

RecordTable repeated_table(const log::Review& review) {
    RecordTable table{"repeated_faults", "Faults that came back", {"subject", "check", "shows", "still_failing", "where"}, {}};
    for (const log::RepeatedFault& fault : review.repeated) {
        std::vector<std::string> where;
        for (const std::size_t show : fault.shows) where.push_back(name_of(review.shows[show]));
        table.rows.push_back({fault.subject, fault.check, static_cast<std::int64_t>(fault.shows.size()), count(fault.standing), where});
    }
    return table;
}

RecordTable drift_table(const log::Review& review) {
    RecordTable table{"drifts", "Boxes that drift from show to show (larger than the uncertainty)",
                      {"subject", "check", "shows", "first", "last", "change", "change_uncertainty", "per_show",
                       "per_show_uncertainty", "unit"},
                      {}};
    for (const log::Drift& drift : review.drifts)
        if (drift.drifts)
            table.rows.push_back({drift.subject, drift.check, static_cast<std::int64_t>(drift.points.size()), drift.points.front().value,
                                  drift.points.back().value, drift.change, drift.change_u, drift.slope, drift.slope_u, drift.unit});
    return table;
}

RecordTable figures_table(const log::Review& review) {
    RecordTable table{"figures", "Figures of each box, show by show", {"subject", "check", "show", "value", "uncertainty", "unit"}, {}};
    for (const log::Drift& drift : review.drifts)
        for (const log::DriftPoint& point : drift.points)
            table.rows.push_back({drift.subject, drift.check, name_of(review.shows[point.show]), point.value, point.uncertainty, drift.unit});
    return table;
}

RecordTable time_table(const log::Review& review) {
    RecordTable table{"time_by_circuit", "Where the time went", {"show", "circuit", "minutes", "takes", "retakes"}, {}};
    for (const log::ReviewedShow& show : review.shows)
        for (const log::CircuitTime& circuit : show.circuits)
            table.rows.push_back({name_of(show), circuit.circuit.empty() ? "none (silence, gear)" : circuit.circuit,
                                  circuit.seconds / 60.0, count(circuit.takes), count(circuit.retakes)});
    return table;
}

// How long each kind of step was planned to be, how long it took, and what the next plan of that crew reckons with.
RecordTable steps_table(const log::Review& review) {
    RecordTable table{"steps", "Seconds a step: planned, taken, reckoned with now",
                      {"show", "step", "steps", "planned_s", "took_s", "reckoned_s"},
                      {}};
    for (const log::ReviewedShow& reviewed : review.shows) {
        const auto show = open_show(reviewed.file, log::Mode::read);
        if (!show) continue;  // a log without a plan has no planned times
        const auto takes = show->log.take_times();
        if (!takes) continue;
        for (const KindOfStep& kind : crew_times(show->plan.plan, *takes, {}).kinds)
            table.rows.push_back({name_of(reviewed), std::string(word(kind.kind)), static_cast<std::int64_t>(kind.steps), kind.planned_s, kind.took_s, kind.reckoned_s});
    }
    return table;
}

}  // namespace

CareOutcome review_logs(const std::vector<std::filesystem::path>& logs) {
    const log::Review review = log::review(logs);
    CareOutcome outcome;
    outcome.faults = review.unreadable;
    outcome.document.format = "proofwalk.review/1";
    outcome.document.facts = {{"logs", static_cast<std::int64_t>(review.shows.size())},
                              {"not_readable", static_cast<std::int64_t>(review.unreadable.size())}};
    outcome.document.tables = {
        shows_table(review),
        left_out_table(review, log::LeftOutHow::skipped, "skipped", "Skipped"),
        left_out_table(review, log::LeftOutHow::signed_as_exception, "signed_with_exceptions", "Signed as exceptions"),
        left_out_table(review, log::LeftOutHow::never_measured, "never_measured", "Never measured"),
        repeated_table(review),
        drift_table(review),
        figures_table(review),
        steps_table(review),
        time_table(review)};
    outcome.sound = review.unreadable.empty();
    return outcome;
}

}  // namespace proofwalk::walk
