// The decision rule, in one place: probability of conformity (JCGM 106:2012, two-sided, normal).
#pragma once

#include "plan/plan.hpp"
#include "verify/judge.hpp"

namespace proofwalk::verify {

struct Decided {
    Verdict verdict = Verdict::unsure;
    double probability = 0.0;
};

// y: deviation, u: standard uncertainty (>= 0), tolerance > 0.
// guarded: pass when pc >= confidence, fail when 1 - pc >= confidence, else unsure. simple: pass when |y| <= tolerance.
[[nodiscard]] Decided decide(double y, double u, double tolerance, const plan::Rules& rules);
[[nodiscard]] double probability_of_conformity(double y, double u, double tolerance);
// False when even y = 0 could not pass: the tolerance can't be met with this uncertainty.
[[nodiscard]] bool can_pass(double u, double tolerance, const plan::Rules& rules);
// Factor from standard to expanded uncertainty at a two-sided confidence (1.96 at 0.95).
[[nodiscard]] double coverage_factor(double confidence);

}  // namespace proofwalk::verify
