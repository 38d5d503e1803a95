#include "walk/timed_steps.hpp"

#include <algorithm>
#include <array>
#include <sstream>
#include <utility>

#include "walk/bands.hpp"
#include "walk/route/changeover.hpp"

namespace proofwalk::walk {
namespace {

constexpr double longest_step_s = 600.0;  // a longer step is a break
constexpr std::size_t least_steps = 3;    // to learn from
constexpr std::size_t most_stands = 32;

bool contains(const auto& items, const auto& item) { return std::ranges::find(items, item) != items.end(); }

// Of "m1@p1 m2@p2", each once.
std::vector<std::string> positions_of(const log::TakeTime& take) {
    std::vector<std::string> positions;
    std::istringstream words(take.places);
    for (std::string word; words >> word;)
        if (const std::string position = word.substr(word.find('@') + 1); !position.empty() && !contains(positions, position)) positions.push_back(position);
    return positions;
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
    if (wanted.empty() || stands.size() > most_stands) return 0.0;
    route::Distances distances(nodes.size());
    for (std::size_t a = 0; a < nodes.size(); ++a)
        for (std::size_t b = 0; b < a; ++b) distances.set(a, b, route::walk_s(crew, nodes[a], nodes[b]));
    return route::quick_changeover(distances, stands, wanted, stands.front()).seconds;
}

}  // namespace

std::string_view word(StepKind kind) {
    static constexpr std::array<std::string_view, 3> words = {"same mics, next circuit", "same mics, overlapped sweeps", "mics carried"};
    return words[static_cast<std::size_t>(kind)];
}

StepKind TimedStep::kind() const {
    if (carried > 0) return StepKind::carried;
    return circuits.size() > 1 ? StepKind::overlapped : StepKind::next_circuit;
}

std::vector<TimedStep> timed_steps(const plan::Plan& plan, const std::vector<log::TakeTime>& takes, const route::Crew& crew) {
    std::vector<TimedStep> steps;
    const log::TakeTime* before = nullptr;
    std::vector<std::string> from;
    std::size_t silent = 0;  // takes of no circuit since then: the noise at these places, the gear
    for (const log::TakeTime& take : takes) {
        TimedStep step{take.label, split_circuits(take.circuit), positions_of(take), 0, {}};
        if (step.positions.empty()) {
            ++silent;
            continue;
        }
        const log::TakeTime* earlier = std::exchange(before, &take);
        const std::vector<std::string> stood = std::exchange(from, step.positions);
        const auto between = static_cast<double>(std::exchange(silent, 0));
        if (earlier == nullptr || take.device == "rehearsal" || take.device == "recorded") continue;
        const auto actual_s = static_cast<double>(take.when.utc_s - earlier->when.utc_s);
        if (actual_s <= 0.0 || actual_s > longest_step_s) continue;
        for (const std::string& id : step.positions) step.carried += contains(stood, id) ? 0 : 1;
        step.time.walk_s = walked_s(plan, crew, stood, step.positions);
        step.time.place_s = crew.place_s * static_cast<double>(step.carried) / std::max(1, crew.people);
        step.time.take_s = step.circuits.size() > 1 ? crew.take_s + static_cast<double>(step.circuits.size() - 1) * crew.overlap_gap_s
                                                    : crew.take_s + crew.mute_change_s;
        step.time.take_s += between * crew.take_s;
        step.time.actual_s = actual_s;
        steps.push_back(std::move(step));
    }
    return steps;
}

CrewTimes crew_times(const plan::Plan& plan, const std::vector<log::TakeTime>& takes, const route::Crew& crew) {
    const std::vector<TimedStep> steps = timed_steps(plan, takes, crew);
    std::vector<route::StepTime> times;
    for (const TimedStep& step : steps) times.push_back(step.time);
    CrewTimes result;
    result.crew = route::adapted(crew, times);
    result.learnt_from = steps.size() >= least_steps ? steps.size() : 0;
    const std::vector<TimedStep> reckoned = timed_steps(plan, takes, result.crew);
    std::array<KindOfStep, 3> kinds;
    for (std::size_t index = 0; index < steps.size(); ++index) {
        KindOfStep& kind = kinds[static_cast<std::size_t>(steps[index].kind())];
        kind.kind = steps[index].kind();
        ++kind.steps;
        kind.planned_s += steps[index].planned_s();
        kind.took_s += steps[index].time.actual_s;
        kind.reckoned_s += reckoned[index].planned_s();
    }
    for (KindOfStep& kind : kinds) {
        if (kind.steps == 0) continue;
        result.planned_s += kind.planned_s;
        result.took_s += kind.took_s;
        for (double* sum : {&kind.planned_s, &kind.took_s, &kind.reckoned_s}) *sum /= static_cast<double>(kind.steps);
        result.kinds.push_back(kind);
    }
    return result;
}

}  // namespace proofwalk::walk
