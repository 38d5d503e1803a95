// Which bands and which arrival a circuit is read in, from the plan.
#pragma once

#include <string>

#include "acoustics/air.hpp"
#include "plan/plan.hpp"
#include "signal/evidence.hpp"

namespace proofwalk::walk {

// Several circuits joined with "+" are read in the bands of the first.
[[nodiscard]] signal::Bands bands_of(const plan::Plan& plan, const std::string& circuit, const std::string& position,
                                     const acoustics::Air& air);
// The circuits of "A+B".
[[nodiscard]] std::vector<std::string> split_circuits(const std::string& joined);
[[nodiscard]] std::string join_circuits(const std::vector<std::string>& circuits);

}  // namespace proofwalk::walk
