#include "walk/next.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "units/nearest.hpp"
#include "verify/predict.hpp"
#include "walk/judged.hpp"

namespace proofwalk::walk {
namespace {

constexpr double doors_decay_s = 0.5;   // enough for level, arrival and polarity of the direct sound
constexpr double longest_step_s = 600.0;  // a longer step is a break

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

double walked_s(const plan::Plan& plan, const route::Crew& crew, const std::vector<std::string>& from, const std::vector<std::string>& to) {
    std::vector<Vec3> nodes;
    std::vector<std::size_t> stands, wanted;
    const auto add = [&](const std::vector<std::string>& ids, const std::vector<std::string>& not_in, std::vector<std::size_t>& numbers) {
        for (const std::string& id : ids)
            if (const plan::Position* position = plan.position(id); position != nullptr && !contains(not_in, id)) {
                numbers.push_back(nodes.size());
                nodes.push_back(position->at);
            }
    };
    add(from, to, stands);
    add(to, from, wanted);
    while (stands.size() < wanted.size()) {
        stands.push_back(nodes.size());
        nodes.push_back(crew.start);
    }
    if (wanted.empty() || stands.size() > 32) return 0.0;
    route::Distances distances(nodes.size());
    for (std::size_t a = 0; a < nodes.size(); ++a)
        for (std::size_t b = 0; b < a; ++b) distances.set(a, b, route::walk_s(crew, nodes[a], nodes[b]));
    return route::quick_changeover(distances, stands, wanted, stands.front()).seconds;
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

std::vector<TimedStep> timed_steps(const plan::Plan& plan, const std::vector<log::TakeRecord>& takes, const route::Crew& crew) {
    std::vector<TimedStep> steps;
    for (std::size_t index = 1; index < takes.size(); ++index) {
        const log::TakeRecord &before = takes[index - 1], &take = takes[index];
        if (take.origin.device == "rehearsal" || take.origin.device == "recorded") continue;
        const auto actual_s = static_cast<double>(take.origin.when.utc_s - before.origin.when.utc_s);
        if (actual_s <= 0.0 || actual_s > longest_step_s) continue;
        const auto from = places_of(before);
        TimedStep step{take.number, take.label, take.sounding, places_of(take), 0, {}};
        for (const std::string& id : step.positions) step.carried += contains(from, id) ? 0 : 1;
        step.time.walk_s = walked_s(plan, crew, from, step.positions);
        step.time.place_s = crew.place_s * static_cast<double>(step.carried) / std::max(1, crew.people);
        step.time.take_s = take.sounding.size() > 1 ? crew.take_s + static_cast<double>(take.sounding.size() - 1) * crew.overlap_gap_s
                                                    : crew.take_s + crew.mute_change_s;
        step.time.actual_s = actual_s;
        steps.push_back(std::move(step));
    }
    return steps;
}

std::vector<route::StepTime> step_times(const plan::Plan& plan, const std::vector<log::TakeRecord>& takes, const route::Crew& crew) {
    std::vector<route::StepTime> times;
    for (const TimedStep& step : timed_steps(plan, takes, crew)) times.push_back(step.time);
    return times;
}

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
    const auto steps = step_times(plan, *takes, options.crew);
    situation.crew = route::adapted(options.crew, steps);
    result.learnt_from = steps.size() >= 3 ? steps.size() : 0;
    result.crew = situation.crew;
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
    result.signal = route::doors_signal(show.plan.plan.circuits(), doors_decay_s);
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
