// What is at stake when a check is left out: how likely its fault is, how much it hurts, and how many people hear it.
#pragma once

#include <array>
#include <string>
#include <utility>
#include <vector>

#include "plan/checks.hpp"
#include "units/fault.hpp"

namespace proofwalk::walk::route {

inline constexpr std::size_t check_kinds = 11;  // plan::CheckKind

// Per kind of check. Common practice, no source: orders of size of what is found on a rig before anyone has checked it.
struct Odds {
    std::array<double, check_kinds> fault = {0.04, 0.02, 0.02, 0.03, 0.04, 0.03, 0.05, 0.04, 0.02, 0.02, 0.04};
    std::array<double, check_kinds> harm = {1.0, 0.6, 0.7, 0.4, 0.5, 0.4, 0.5, 0.4, 0.15, 0.2, 0.5};  // 1: people hear nothing
    double after_correction = 0.25;  // of a check that failed before: the correction missed, or was never made

    [[nodiscard]] double fault_of(plan::CheckKind kind) const { return fault[static_cast<std::size_t>(kind)]; }
    [[nodiscard]] double harm_of(plan::CheckKind kind) const { return harm[static_cast<std::size_t>(kind)]; }
};
// "aim-v=0.1": another likelihood, 0 to 1, for a kind of check; "corrected=0.1" for what failed before.
[[nodiscard]] Result<void> set_odds(Odds& odds, std::string_view text);
// Likelihoods learnt from what earlier walks found: failures among judged checks of a kind, with the defaults counting as
// twenty earlier checks.
struct Outcomes {
    std::array<int, check_kinds> judged{}, failed{};
};
[[nodiscard]] Odds learnt(const Odds& odds, const Outcomes& outcomes);

// Share of the audience (0..1) that hears a box before all others, from the plan's areas; boxes without a pattern share
// alike among themselves. Equal shares where a plan has no areas. In the order of the plan's boxes.
[[nodiscard]] std::vector<double> people_of(const plan::Plan& plan);

struct Stake {
    double likelihood = 0.0;  // of the fault
    double people = 0.0;      // share of the audience
    double risk = 0.0;        // likelihood times harm times people
};
// The same stake where the check failed before.
[[nodiscard]] Stake doubted(const Stake& stake, const Odds& odds);
// In the order of `checks`.
[[nodiscard]] std::vector<Stake> stakes_of(const plan::Plan& plan, const std::vector<plan::PlannedCheck>& checks, const Odds& odds);

}  // namespace proofwalk::walk::route
