// Why a check came out as it did: what was compared, where its uncertainty comes from, and by which rule it was decided.
// Pure, and worked out again from the readings: the same evidence gives the same explanation.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "verify/judge.hpp"

namespace proofwalk::verify {

// One circuit heard at one position, as measured, as the plan has it and as the fitted hang gives it.
struct Compared {
    std::string circuit, position, take, mic;
    std::vector<std::string> roles;       // of the position for the boxes of the circuit: "on-axis", ...
    bool asked = false;                   // the check itself needs it; else it is evidence for the fit
    bool left_out = false;                // fits nothing
    std::optional<Measured> level_db;     // aim band
    std::optional<double> planned_db, fitted_db;
    std::optional<Measured> arrival_ms;
    std::optional<double> planned_ms, fitted_ms;
};

struct Explanation {
    CheckResult check;
    std::vector<Compared> compared;       // what the check asks for first
    std::vector<BudgetLine> budget;       // the squares add up to the square of the standard uncertainty
    std::string rule;                     // how the verdict follows from the figure, one sentence without full stop
};

[[nodiscard]] std::optional<Explanation> explain(const Input& input, plan::CheckKind kind, std::string_view subject);
// All checks that `what` names: a check ("aim-h"), a subject ("M1", "M1+M2") or both ("aim-h:M1"). Plan order.
[[nodiscard]] std::vector<Explanation> explain(const Input& input, std::string_view what);

// Where the uncertainty of a check comes from; nothing where it has no figure.
[[nodiscard]] std::vector<BudgetLine> budget(const Input& input, plan::CheckKind kind, std::string_view subject);

}  // namespace proofwalk::verify
