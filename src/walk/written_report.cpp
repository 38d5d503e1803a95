#include "walk/written_report.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "log/review.hpp"
#include "walk/bands.hpp"
#include "walk/decisions.hpp"
#include "walk/gathered_remarks.hpp"
#include "walk/heard_curves.hpp"
#include "walk/live_take.hpp"
#include "walk/store_take.hpp"
#include "walk/timed_steps.hpp"

namespace proofwalk::walk {
namespace {

const log::EvidenceRecord* newest_on_axis(const Evidence& evidence, const plan::Plan& plan, const plan::Box& box,
                                          std::string& take_label) {
    const plan::Position* on_axis = plan.serving(plan::Role::on_axis, box.id);
    if (on_axis == nullptr) return nullptr;
    for (auto take = evidence.takes.rbegin(); take != evidence.takes.rend(); ++take) {
        if (retired(plan, evidence.changes, *take, box.circuit)) continue;
        for (const auto& heard : take->evidence)
            if (heard.circuit == box.circuit && heard.position == on_axis->id) {
                take_label = take->label;
                return &heard;
            }
    }
    return nullptr;
}

std::vector<report::BoxCurves> on_axis_curves(const plan::Plan& plan, const Evidence& evidence) {
    std::vector<report::BoxCurves> all;
    const acoustics::Air air = air_of(plan, evidence.takes);
    for (const plan::Box& box : plan.boxes) {
        std::string take_label;
        if (const log::EvidenceRecord* heard = newest_on_axis(evidence, plan, box, take_label))
            all.push_back(curves_of(plan, box, *heard, take_label, air, usual_smoothing));
    }
    return all;
}

struct Dated {
    Moment when;
    report::EventLine line;
};

std::vector<report::EventLine> history_of(const Evidence& evidence,
                                          const std::vector<log::SignOff>& sign_offs, const Result<std::vector<log::PlanRevision>>& plans) {
    std::vector<Dated> events;
    const auto add = [&](const log::Origin& by, std::string what) {
        events.push_back({by.when, {to_text(by.when), std::move(what), by.who}});
    };
    if (plans)
        for (const auto& plan : *plans)
            add(plan.origin, fmt::format("plan revision {}, {}", plan.revision, plan.sha256.substr(0, 12)));
    for (const auto& take : evidence.takes)
        add(take.origin, fmt::format("take {} ({}{}{})", take.label, capture::word(take.kind),
                                     take.sounding.empty() ? "" : " of ", join_circuits(take.sounding)));
    for (const auto& skip : evidence.skips)
        add(skip.origin, skip.taken_up ? fmt::format("took up again {} of {}", skip.check, skip.subject) : fmt::format("skipped {} of {}: {}", skip.check, skip.subject, skip.why));
    for (const auto& change : evidence.changes) add(change.origin, fmt::format("changed {}: {}", change.subject, change.what));
    for (const auto& sign_off : sign_offs)
        add(sign_off.origin, fmt::format("signed as {} for {}", sign_off.role, covered_by(sign_off, evidence.takes)));
    std::ranges::stable_sort(events, {}, [](const Dated& event) { return event.when.utc_s; });
    std::vector<report::EventLine> lines;
    for (auto& event : events) lines.push_back(std::move(event.line));
    return lines;
}

std::vector<report::TakeLine> take_lines(const Evidence& evidence) {
    std::vector<report::TakeLine> lines;
    for (const auto& take : evidence.takes)
        lines.push_back({take.label, to_text(take.origin.when), std::string{capture::word(take.kind)}, join_circuits(take.sounding), take.origin.who});
    return lines;
}

std::optional<report::WalkTime> walk_time(const Show& show) {
    const auto takes = show.log.take_times();
    if (!takes || takes->size() < 2) return std::nullopt;
    const log::WalkTimes times = log::walk_times(*takes);
    report::WalkTime time;
    time.walk_min = times.walk_s / 60.0;
    time.pauses_min = times.pauses_s / 60.0;
    for (const log::CircuitTime& circuit : times.circuits)
        time.circuits.push_back({circuit.circuit, circuit.takes, circuit.retakes, circuit.seconds / 60.0});
    const CrewTimes steps = crew_times(show.plan.plan, *takes, {});
    time.planned_min = steps.planned_s / 60.0;
    time.planned_steps_took_min = steps.took_s / 60.0;
    for (const KindOfStep& kind : steps.kinds)
        time.steps.push_back({std::string(word(kind.kind)), static_cast<int>(kind.steps), kind.planned_s, kind.took_s, kind.reckoned_s});
    return time;
}

std::string decision_statement(const plan::Rules& rules) {
    if (rules.decision == plan::Decision::simple)
        return "Simple acceptance: a figure inside its tolerance passes, outside it fails. Near a limit the risk of a wrong "
               "verdict is up to one half and is shared between who hangs the rig and who signs it.";
    return fmt::format("Guarded acceptance (JCGM 106): a check passes when the probability that the true value lies inside "
                       "its tolerance is at least {0:.0f} %, fails when the probability that it lies outside is at least "
                       "{0:.0f} %, and is unsure between. The remaining risk of a wrong pass or a wrong fail, at most "
                       "{1:.0f} % at a limit, is shared between who hangs the rig and who signs it.",
                       100.0 * rules.confidence, 100.0 * (1.0 - rules.confidence));
}

}  // namespace

Result<report::Show> report_show(const Show& show, Curves curves) {
    auto evidence = load_evidence(show, curves == Curves::with);
    if (!evidence) return std::unexpected(evidence.error());
    auto current = tally(show);
    if (!current) return std::unexpected(current.error());
    auto rows = readings(show);
    if (!rows) return std::unexpected(rows.error());
    auto sign_offs = show.log.sign_offs();
    if (!sign_offs) return std::unexpected(sign_offs.error());

    report::Show page;
    page.plan = show.plan.plan;
    page.plan_sha256 = show.plan.sha256;
    page.plan_revision = show.revision;
    page.log_name = show.log.file().filename().string();
    page.tool = tool_name();
    page.made = to_text(now());
    if (curves == Curves::with) page.curves = on_axis_curves(page.plan, *evidence);
    for (const auto& skip : evidence->skips)
        page.skips.push_back({skip.check, skip.subject, skip.origin.who, skip.why, skip.origin.when});
    for (const auto& sign_off : *sign_offs) {
        report::SignLine line{sign_off.origin.who, sign_off.role, to_text(sign_off.origin.when), sign_off.hash, {}, false, {}, {}};
        for (const auto& exception : sign_off.exceptions)
            line.exceptions.push_back(exception.check + ":" + exception.subject);
        line.stale_because = stale_because(sign_off, show, *current, *evidence);
        line.stale = !line.stale_because.empty();
        line.covers = covered_by(sign_off, evidence->takes);
        page.sign_offs.push_back(std::move(line));
    }
    page.history = history_of(*evidence, *sign_offs, show.log.plans());
    const bool measured = std::ranges::any_of(evidence->takes, [](const auto& take) { return take.air.has_value(); });
    const acoustics::Air air = air_of(page.plan, evidence->takes);
    page.air = fmt::format("{}: {:.1f} \u00b0C, {:.0f} %, {:.1f} kPa", measured ? "measured" : "as planned", air.temperature_c,
                           air.humidity_pct, air.pressure_kpa);
    for (const auto& take : evidence->takes) {
        if (!take.origin.who.empty() && std::ranges::find(page.walked_by, take.origin.who) == page.walked_by.end())
            page.walked_by.push_back(take.origin.who);
        page.rehearsed = page.rehearsed || take.origin.device == "rehearsal";
    }
    page.takes = take_lines(*evidence);
    if (!page.rehearsed) page.time = walk_time(show);
    auto remarks = gathered_remarks(show);
    if (!remarks) return std::unexpected(remarks.error());
    page.remarks = std::move(*remarks);
    page.cautions = {sound_caution(), rigging_caution()};
    page.decision_statement = decision_statement(page.plan.rules);
    page.tally = std::move(*current);
    page.readings = std::move(*rows);
    return page;
}

Result<std::filesystem::path> write_report(const Show& show, const std::filesystem::path& folder, report::Reader reader) {
    auto page = report_show(show, reader == report::Reader::engineer ? Curves::with : Curves::without);
    if (!page) return std::unexpected(page.error());
    return report::write_report(*page, folder, reader);
}

Result<std::vector<std::filesystem::path>> write_data(const Show& show, const std::filesystem::path& folder) {
    auto page = report_show(show);
    if (!page) return std::unexpected(page.error());
    return report::write_data(*page, folder);
}

}  // namespace proofwalk::walk
