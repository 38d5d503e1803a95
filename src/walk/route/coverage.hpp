// Which takes settle which checks: a take of a circuit with a mic at a position is one pair, a check is settled when all
// its pairs have been taken.
#pragma once

#include <compare>
#include <string>
#include <vector>

#include "plan/checks.hpp"

namespace proofwalk::walk::route {

struct Pair {
    std::string circuit, position;  // an empty position: any
    friend auto operator<=>(const Pair&, const Pair&) = default;
};

struct CheckNeeds {
    plan::PlannedCheck check;
    std::vector<Pair> pairs;  // all of them, each once; empty when the plan has no positions for it
};

// In the order of plan::checks. Splay and spacing need each box on its own axis and both at the crossover; a sounding
// check needs its circuit anywhere.
[[nodiscard]] std::vector<CheckNeeds> needs_of(const plan::Plan& plan);

// Circuits that can sound in one take, one sweep into the next: all their boxes have an output, no two the same, and one
// sweep suits them all. Every circuit is in one set; one that sounds alone is a set of its own.
[[nodiscard]] std::vector<std::vector<std::string>> sounding_together(const plan::Plan& plan);

}  // namespace proofwalk::walk::route
