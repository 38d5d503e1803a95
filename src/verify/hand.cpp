// Hand readings (inclinometer, laser, tape) beside the sound: combined where they agree, told where they do not.
#include <cmath>

#include <fmt/format.h>

#include "verify/case_file.hpp"

namespace proofwalk::verify {
namespace {

void combine(CheckResult& check, const HandReading& hand, const CaseFile& file) {
    if (!check.tolerance || hand.u <= 0.0 || !std::isfinite(hand.value) || !std::isfinite(hand.u)) return;
    const double factor = coverage_factor(file.rules().confidence);
    const std::string by_hand = fmt::format("by hand {:+.2g} +-{:.2g} {} ({})", hand.value, factor * hand.u, check.unit, hand.who);
    if (!check.value || !check.uncertainty) {
        // A circuit that is silent or wrongly patched stays as it is: a tape does not tell whether it sounds.
        if (check.verdict == Verdict::open) return;
        check.says += "; " + by_hand;
        return;
    }
    const double u = *check.uncertainty / factor;
    if (std::abs(hand.value - *check.value) > factor * std::hypot(hand.u, u)) {
        check.verdict = Verdict::unsure;
        check.says = fmt::format("sound and hand contradict one another: {:+.2g} +-{:.2g} {} by sound, {}", *check.value,
                                 *check.uncertainty, check.unit, by_hand);
        check.advice = "measure both again before anything is moved";
        return;
    }
    const double weight = u * u / (u * u + hand.u * hand.u);  // of the hand reading
    Quantity both;
    both.value = (1.0 - weight) * *check.value + weight * hand.value;
    both.u = u * hand.u / std::hypot(u, hand.u);
    for (BudgetLine line : check.budget) both.budget.push_back({line.source, (1.0 - weight) * line.u});
    both.budget.push_back({"hand reading", weight * hand.u});
    settle(check, both, *check.tolerance, file);
    check.says = fmt::format("{:+.2g} {} off the plan, sound and hand together; {}", both.value, check.unit, by_hand);
    if (check.verdict != Verdict::fail) check.advice.clear();
}

}  // namespace

void take_hand_readings(const CaseFile& file, std::vector<CheckResult>& checks) {
    using enum plan::CheckKind;
    for (const HandReading& hand : file.input.hand) {
        const bool measurable = hand.kind == aim_h || hand.kind == aim_v || hand.kind == splay || hand.kind == spacing;
        if (!measurable) continue;
        for (CheckResult& check : checks)
            if (check.kind == hand.kind && check.subject == hand.subject) combine(check, hand, file);
    }
}

}  // namespace proofwalk::verify
