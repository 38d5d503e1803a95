// What to do next: from a plan and from what is already taken, the legs of the walk that is left, or the best use of the
// minutes that are left. The same function replans at any time: a take failed, an area is closed, a mic died, time was cut.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "walk/route/coverage.hpp"
#include "walk/route/rounds.hpp"
#include "walk/route/stakes.hpp"

namespace proofwalk::walk::route {

struct CheckId {
    plan::CheckKind kind = plan::CheckKind::sounding;
    std::string subject;
    friend bool operator==(const CheckId&, const CheckId&) = default;
};

struct Situation {
    Crew crew;
    Odds odds;
    std::vector<Pair> taken;                // what usable takes have heard
    std::vector<CheckId> settled;           // passed or skipped: nothing more is needed
    std::vector<CheckId> doubted;           // failed before: a correction may have missed
    std::vector<std::string> closed;        // positions where no mic can stand now
    std::vector<std::string> not_ready;     // circuits that can't sound now
    std::vector<std::string> mics_at;       // where mics stand now; empty: all at the start
    std::optional<double> minutes;          // absent: as long as it takes
};

struct Leg {
    std::vector<std::string> positions;     // one mic each
    std::vector<std::string> circuits;      // in the order to unmute them
    std::vector<std::vector<std::string>> together;  // those of them that sound in one take, one sweep into the next
    std::vector<std::pair<std::string, std::string>> carries;  // from position (or "start") to position, in order
    double walk_s = 0.0, place_s = 0.0, take_s = 0.0;
    std::vector<CheckId> settles;

    [[nodiscard]] double seconds() const { return walk_s + place_s + take_s; }
    [[nodiscard]] std::size_t takes() const;
};

struct Unproven {
    CheckId check;
    Stake stake;
    std::string why;    // "no time", "p4 is closed", "M1 is not ready", "no position of the plan serves it"
    double seen = 0.0;  // share of its risk that other takes of this agenda take away
};

struct Agenda {
    std::vector<Leg> legs;
    double seconds = 0.0;
    std::vector<Unproven> unproven;  // largest risk first
    double risk_before = 0.0;        // sum over all checks that are not settled: expected share of people who suffer a fault
    double risk_left = 0.0;          // of those that stay unproven
    bool shortest = false;           // proven to be the shortest walk that settles them all

    [[nodiscard]] std::size_t takes() const;
};

// `effort`: 1 for a plan, less for replanning in a hurry.
[[nodiscard]] Agenda agenda(const plan::Plan& plan, const Situation& situation, double effort = 1.0);
// Box by box, every position of each, in the plan's order: what a walk without thought costs; for comparison.
[[nodiscard]] Agenda box_by_box(const plan::Plan& plan, const Situation& situation);

// What is different from an earlier agenda, in plain words, one a line.
[[nodiscard]] std::vector<std::string> differences(const Agenda& before, const Agenda& after);
// The risk that is left, in plain words: "11 checks stay unproven, ...".
[[nodiscard]] std::string risk_in_words(const Agenda& agenda);

}  // namespace proofwalk::walk::route
