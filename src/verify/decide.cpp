#include "verify/decide.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace proofwalk::verify {
namespace {

double normal_cdf(double z) { return 0.5 * std::erfc(-z / std::sqrt(2.0)); }

// Start by Hastings (Abramowitz and Stegun 26.2.23, 4.5e-4), then Halley steps: exact to double precision.
double normal_quantile(double p) {
    const double q = std::sqrt(-2.0 * std::log(std::min(p, 1.0 - p)));
    const double start = q - (2.515517 + q * (0.802853 + q * 0.010328)) / (1.0 + q * (1.432788 + q * (0.189269 + q * 0.001308)));
    double z = p < 0.5 ? -start : start;
    for (int step = 0; step < 4; ++step) {
        const double density = std::exp(-0.5 * z * z) / std::sqrt(2.0 * std::numbers::pi);
        const double newton = (normal_cdf(z) - p) / density;
        z -= newton / (1.0 + 0.5 * z * newton);
    }
    return z;
}

}  // namespace

double probability_of_conformity(double y, double u, double tolerance) {
    if (u <= 0.0) return std::abs(y) <= tolerance ? 1.0 : 0.0;
    return normal_cdf((tolerance - y) / u) - normal_cdf((-tolerance - y) / u);
}

Decided decide(double y, double u, double tolerance, const plan::Rules& rules) {
    const double pc = probability_of_conformity(y, u, tolerance);
    if (rules.decision == plan::Decision::simple) {
        return {std::abs(y) <= tolerance ? Verdict::pass : Verdict::fail, pc};
    }
    if (pc >= rules.confidence) return {Verdict::pass, pc};
    if (1.0 - pc >= rules.confidence) return {Verdict::fail, pc};
    return {Verdict::unsure, pc};
}

bool can_pass(double u, double tolerance, const plan::Rules& rules) {
    if (rules.decision == plan::Decision::simple) return true;
    return probability_of_conformity(0.0, u, tolerance) >= rules.confidence;
}

double coverage_factor(double confidence) { return normal_quantile(0.5 + 0.5 * confidence); }

}  // namespace proofwalk::verify
