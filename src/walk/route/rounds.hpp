// Grouping positions into rounds of as many mics as there are, ordering the rounds, and carrying the stands between them,
// so that the whole takes the least time. The fewest rounds possible, all mics in use in each but the last; among those the
// least seconds of walking, placing and taking. Exact for up to `exact_places` positions, near-optimal beyond.
#pragma once

#include <bitset>
#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "walk/route/changeover.hpp"
#include "walk/route/crew.hpp"

namespace proofwalk::walk::route {

inline constexpr std::size_t most_circuits = 512;
using CircuitSet = std::bitset<most_circuits>;

// Places that still want a mic, each with the circuits that have to sound while it stands there.
struct Errand {
    Crew crew;
    std::vector<Vec3> places;
    std::vector<CircuitSet> circuits;  // per place
    std::vector<CircuitSet> together;  // circuits that can sound in one take, one sweep into the next; disjoint sets
    std::vector<Vec3> stands;          // where stands are now; empty: all crew.mics at crew.start
    std::optional<Vec3> crew_at;       // empty: at crew.start
};

struct Stop {
    std::vector<std::size_t> places;  // indices into Errand::places
    CircuitSet circuits;              // that have to sound in this round
    std::vector<Carry> carries;       // `from` and `to` are nodes: see Itinerary
    double walk_s = 0.0, place_s = 0.0, take_s = 0.0;
};

// Nodes of carries: 0 .. places-1 are the places, then one node a stand (where it was at the beginning).
struct Itinerary {
    std::vector<Stop> stops;
    double seconds = 0.0;
    bool proven = false;  // the least possible
};

inline constexpr std::size_t exact_places = 12;

// Positions in no round order of their own: the search's own order decides. `effort` scales the search for large errands
// (1: about 100 ms for 60 places and 8 mics here). Deterministic.
[[nodiscard]] Itinerary plan_rounds(const Errand& errand, double effort = 1.0);
// The two ways by name, for tests and benchmarks.
[[nodiscard]] Itinerary exact_rounds(const Errand& errand);  // at most exact_places places
[[nodiscard]] Itinerary searched_rounds(const Errand& errand, double effort, unsigned seed);

// The cost of going through these groups in this order (carries as short as `exact` or the quick form find them).
// With changeovers given, one a group, those are walked.
[[nodiscard]] Itinerary itinerary_of(const Errand& errand, const std::vector<std::vector<std::size_t>>& groups, bool exact);
[[nodiscard]] Itinerary itinerary_of(const Errand& errand, const std::vector<std::vector<std::size_t>>& groups,
                                     std::vector<Changeover> changeovers);

}  // namespace proofwalk::walk::route
