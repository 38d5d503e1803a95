// How sure each check will be before anyone walks: the judgement of a walk in which everything is as planned.
// A tolerance that the takes at hand can't meet is named here, with the reason that judge() would give.
#pragma once

#include <string>
#include <vector>

#include "verify/judge.hpp"

namespace proofwalk::verify {

// One circuit to be heard by one mic at one position.
struct PlannedTake {
    std::string circuit, position;
    std::string mic;  // empty: a mic of its own at each position
};

struct PredictedCheck {
    plan::CheckKind kind = plan::CheckKind::sounding;
    std::string subject;
    std::optional<double> u;   // standard, in the check's unit; nothing where the check has no figure or no take
    std::vector<BudgetLine> budget;
    Verdict best = Verdict::open;  // of a rig that hangs exactly as planned: pass, or why not: unsure (can't be met), open
    std::string says;
};

// What is measured well: signal-to-noise ratio in the aim band at the mic, dB.
inline constexpr double usual_signal_to_noise_db = 35.0;

// What a walk with these takes would hear of a rig that hangs exactly as planned.
[[nodiscard]] Input heard_as_planned(const plan::Plan& plan, const std::vector<PlannedTake>& takes,
                                     double signal_to_noise_db = usual_signal_to_noise_db);

[[nodiscard]] std::vector<PredictedCheck> predict(const plan::Plan& plan, const std::vector<PlannedTake>& takes,
                                                  double signal_to_noise_db = usual_signal_to_noise_db);

// Every circuit at every position that serves one of its boxes; with `everywhere` at all positions of the plan, as a walk
// with enough mics leaves them.
[[nodiscard]] std::vector<PlannedTake> takes_of(const plan::Plan& plan, bool everywhere = false);

}  // namespace proofwalk::verify
