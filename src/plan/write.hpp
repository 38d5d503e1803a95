// A plan as the text of its file.
#pragma once

#include <string>

#include "plan/plan.hpp"

namespace proofwalk::plan {

// TOML that reads back as the same plan: numbers in the shortest form that keeps every bit, keys in the order of the
// format, values that are the defaults left out, except for what a reader of a plan looks for (angles, gain, delay).
[[nodiscard]] std::string write(const Plan& plan);

// Whether two plans say the same (directivity by its file name).
[[nodiscard]] bool same(const Plan& a, const Plan& b);

}  // namespace proofwalk::plan
