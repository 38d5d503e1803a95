// What failed has to be put right before it can be proven: which corrections a tally asks for, and which takes each retires.
#pragma once

#include <string>
#include <vector>

#include "plan/plan.hpp"
#include "verify/judge.hpp"

namespace proofwalk::walk {

struct Correction {
    std::string subject;                      // box, circuit or pair, as `change` takes it
    std::vector<std::string> circuits;        // whose takes retire once it is recorded
    std::vector<verify::CheckResult> failed;  // never empty; what to act on first at the front
};

// In the order of `checks`. A failed pair goes with the box that failed by itself (where both did, in a way that explains
// it), else with the box that most failed pairs share; where nothing tells which of the two it is, the pair stands for itself.
[[nodiscard]] std::vector<Correction> corrections(const plan::Plan& plan, const std::vector<verify::CheckResult>& checks);

}  // namespace proofwalk::walk
