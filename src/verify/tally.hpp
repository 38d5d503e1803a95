// All verdicts of a plan, with what people left out on purpose laid over them.
#pragma once

#include <string>
#include <vector>

#include "units/utc.hpp"
#include "verify/judge.hpp"

namespace proofwalk::verify {

struct Skip {
    std::string check, subject, who, why;
    Moment when;
};

struct Counts {
    int pass = 0, fail = 0, unsure = 0, open = 0, skipped = 0;
};

struct Tally {
    std::string plan_name, plan_sha256;
    int plan_revision = 1;
    std::vector<CheckResult> checks;
    std::vector<Fit> fits;
    std::optional<Measured> drive_latency_ms;

    [[nodiscard]] Counts counts() const;
};

// The newest skip of a check stands until evidence newer than it judges the check again; the caller passes only skips
// that still stand. A skipped check keeps what was measured in its sentence and is never a pass.
[[nodiscard]] std::vector<CheckResult> with_skips(std::vector<CheckResult> checks, const std::vector<Skip>& skips);

}  // namespace proofwalk::verify
