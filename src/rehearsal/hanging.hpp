// What really hangs there: the plan, the small errors of every rigging, and the planted faults. docs/rehearsal.md,
// "Hanging".
#pragma once

#include <vector>

#include "rehearsal/rehearsal.hpp"

namespace proofwalk::rehearsal {

// One entry a box, in the order of the plan. Faults here: a pair that can't be turned or moved as asked.
[[nodiscard]] Result<std::vector<Hung>> hang(const plan::Plan& plan, const Settings& settings);

}  // namespace proofwalk::rehearsal
