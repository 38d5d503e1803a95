// How long each step between two takes was planned to be and how long it took: for the review, and for the speeds that the next
// plan reckons with.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "log/log.hpp"
#include "plan/plan.hpp"
#include "walk/route/crew.hpp"

namespace proofwalk::walk {

enum class StepKind { next_circuit, overlapped, carried };
// "same mics, next circuit", "same mics, overlapped sweeps", "mics carried"
[[nodiscard]] std::string_view word(StepKind kind);

// One step from a take to the next, as it went.
struct TimedStep {
    std::string label;                   // of the take that ends the step
    std::vector<std::string> circuits, positions;
    std::size_t carried = 0;             // mics that stand elsewhere than before
    route::StepTime time;
    [[nodiscard]] double planned_s() const { return time.walk_s + time.place_s + time.take_s; }
    [[nodiscard]] StepKind kind() const;
};
// One a step, oldest first; breaks and rehearsals are left out. `takes` in the order of their numbers.
[[nodiscard]] std::vector<TimedStep> timed_steps(const plan::Plan& plan, const std::vector<log::TakeTime>& takes, const route::Crew& crew);

// All steps of a kind together, means in seconds.
struct KindOfStep {
    StepKind kind = StepKind::next_circuit;
    std::size_t steps = 0;
    double planned_s = 0.0;   // before the walk
    double took_s = 0.0;
    double reckoned_s = 0.0;  // by the speeds learnt: what the next plan reckons with
};
struct CrewTimes {
    std::vector<KindOfStep> kinds;  // those that the walk had
    double planned_s = 0.0, took_s = 0.0;  // of all steps together
    route::Crew crew;               // as learnt
    std::size_t learnt_from = 0;    // steps; 0: too few, the crew is as given
};
[[nodiscard]] CrewTimes crew_times(const plan::Plan& plan, const std::vector<log::TakeTime>& takes, const route::Crew& crew);

}  // namespace proofwalk::walk
