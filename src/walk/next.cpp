#include "walk/next.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "units/nearest.hpp"
#include "verify/predict.hpp"
#include "walk/judged.hpp"
#include "walk/timed_steps.hpp"

namespace proofwalk::walk {
namespace {

constexpr double doors_decay_s = 0.5;   // enough for level, arrival and polarity of the direct sound

bool contains(const auto& items, const auto& item) { return std::ranges::find(items, item) != items.end(); }

// A take that can't be used has to be taken again.
bool usable(const signal::Reading& reading) {
    for (const Flag flag : {Flag::clipped, Flag::clipped_before, Flag::dropped, Flag::dead_channel})
        if (reading.flags.has(flag)) return false;
    return true;
}

Result<void> check_names(const plan::Plan& plan, const NextOptions& options) {
    const auto refused = [](std::string_view option, const std::string& id, std::string_view what, const std::vector<std::string>& known) {
        const std::vector<std::string_view> words(known.begin(), known.end());
        return std::unexpected(Fault{FaultKind::input, "", fmt::format("{} {}", option, id), fmt::format("the plan has no {} \"{}\"", what, id),
                                     nearest_remedy(id, words, what)});
    };
    std::vector<std::string> positions;
    for (const plan::Position& position : plan.positions) positions.push_back(position.id);
    for (const std::string& id : options.closed)
        if (!contains(positions, id)) return refused("--closed", id, "position", positions);
    const std::vector<std::string> circuits = plan.circuits();
    for (const std::string& id : options.not_ready)
        if (!contains(circuits, id)) return refused("--not-ready", id, "circuit", circuits);
    return {};
}

std::vector<std::string> places_of(const log::TakeRecord& take) {
    std::vector<std::string> places;
    for (const auto& heard : take.evidence)
        if (!heard.position.empty() && !contains(places, heard.position)) places.push_back(heard.position);
    for (const auto& silence : take.silence)
        if (!silence.position.empty() && !contains(places, silence.position)) places.push_back(silence.position);
    return places;
}

std::vector<std::string> last_places(const std::vector<log::TakeRecord>& takes) {
    for (auto take = takes.rbegin(); take != takes.rend(); ++take)
        if (const auto places = places_of(*take); !places.empty()) return places;
    return {};
}

// The log as it will stand once the corrections are recorded: their takes retired, what those served open again.
void retire(const plan::Plan& plan, const std::vector<Correction>& corrections, route::Situation& situation) {
    std::vector<std::string> circuits;
    for (const Correction& correction : corrections) circuits.insert(circuits.end(), correction.circuits.begin(), correction.circuits.end());
    if (circuits.empty()) return;
    std::erase_if(situation.taken, [&](const route::Pair& pair) { return contains(circuits, pair.circuit); });
    for (const plan::PlannedCheck& check : plan::checks(plan))
        if (std::ranges::find_first_of(check.circuits, circuits) != check.circuits.end()) std::erase(situation.settled, route::CheckId{check.kind, check.subject});
}

bool is_open(const verify::Tally& tally, plan::CheckKind kind, const std::string& subject) {
    return std::ranges::any_of(tally.checks, [&](const verify::CheckResult& check) {
        return check.kind == kind && check.subject == subject && check.verdict == verify::Verdict::open;
    });
}

// Checks that are unsure though all takes of the plan are there.
std::vector<std::string> unsettled_of(const verify::Tally& tally) {
    std::vector<std::string> unsettled;
    for (const verify::CheckResult& check : tally.checks)
        if (check.verdict == verify::Verdict::unsure)
            unsettled.push_back(fmt::format("{} of {}: {}", plan::word(check.kind), check.subject, check.advice.empty() ? check.says : check.advice));
    return unsettled;
}

}  // namespace

Result<Next> next(const Show& show, const NextOptions& options) {
    const plan::Plan& plan = show.plan.plan;
    if (auto checked = check_names(plan, options); !checked) return std::unexpected(checked.error());
    const auto rows = readings(show);
    if (!rows) return std::unexpected(rows.error());
    const auto now = tally(show);
    if (!now) return std::unexpected(now.error());
    const auto takes = show.log.takes(false);
    if (!takes) return std::unexpected(takes.error());

    route::Situation situation{options.crew, options.odds, {}, {}, {}, options.closed, options.not_ready, last_places(*takes), options.minutes};
    for (const auto& row : *rows)
        if (!row.retired && usable(row.taken.reading)) situation.taken.push_back({row.taken.circuit, row.taken.position});
    for (const auto& check : now->checks)
        if (check.verdict == verify::Verdict::pass || check.verdict == verify::Verdict::skipped)
            situation.settled.push_back({check.kind, check.subject});

    const auto failed = show.log.ever_failed();
    if (!failed) return std::unexpected(failed.error());
    for (const auto& [subject, word] : *failed)
        if (const auto kind = plan::check_from_word(word)) situation.doubted.push_back({*kind, subject});

    Next result;
    result.corrections = corrections(plan, now->checks);
    retire(plan, result.corrections, situation);
    const auto times = show.log.take_times();
    if (!times) return std::unexpected(times.error());
    const CrewTimes learnt = crew_times(plan, *times, options.crew);
    result.learnt_from = learnt.learnt_from;
    result.crew = situation.crew = learnt.crew;
    situation.crew.mics = std::max(1, situation.crew.mics - static_cast<int>(options.mics_lost));
    result.agenda = route::agenda(plan, situation);
    if (!options.closed.empty() || !options.not_ready.empty() || options.mics_lost > 0) {
        route::Situation undisturbed = situation;
        undisturbed.closed.clear();
        undisturbed.not_ready.clear();
        undisturbed.crew.mics = options.crew.mics;
        result.changed = route::differences(route::agenda(plan, undisturbed), result.agenda);
    }
    if (result.agenda.legs.empty() && result.agenda.unproven.empty()) result.unsettled = unsettled_of(*now);
    for (const auto& predicted : verify::predict(plan, verify::takes_of(plan, true)))
        if (predicted.best == verify::Verdict::unsure && is_open(*now, predicted.kind, predicted.subject))
            result.cannot_settle.push_back(fmt::format("{} of {}: {}", plan::word(predicted.kind), predicted.subject, predicted.says));
    return result;
}

std::vector<Round> rounds_of(const route::Agenda& agenda) {
    std::vector<Round> rounds;
    for (const route::Leg& leg : agenda.legs) rounds.push_back({leg.positions, leg.circuits});
    return rounds;
}

std::vector<Round> shortest_rounds(const plan::Plan& plan, int mics) {
    route::Situation situation;
    situation.crew.mics = std::max(1, mics);
    return rounds_of(route::agenda(plan, situation));
}

Result<BeforeDoors> before_doors(const Show& show) {
    const auto evidence = load_evidence(show);
    if (!evidence) return std::unexpected(evidence.error());
    const auto sign_offs = show.log.sign_offs();
    if (!sign_offs) return std::unexpected(sign_offs.error());
    BeforeDoors result;
    result.mics_at = last_places(evidence->takes);
    result.signal = route::doors_signal(route::sounding_together(show.plan.plan), doors_decay_s);
    result.signed_off = !sign_offs->empty();
    if (!result.signed_off) return result;
    std::vector<verify::TakenReading> then, since;
    for (const auto& take : evidence->takes)
        for (const auto& heard : take.evidence)
            (take.number <= sign_offs->back().last_take ? then : since)
                .push_back({take.label, heard.circuit, heard.mic, heard.position, heard.reading});
    if (!since.empty()) result.since_sign_off = route::compared(then, since, show.plan.plan.rules);
    return result;
}

}  // namespace proofwalk::walk
