// Readings and plan in, fits and verdicts out. Pure: the same input gives the same bytes.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "plan/checks.hpp"
#include "plan/plan.hpp"
#include "signal/evidence.hpp"
#include "units/utc.hpp"

namespace proofwalk::verify {

enum class Verdict { pass, fail, unsure, open, skipped };
[[nodiscard]] std::string_view word(Verdict verdict);
[[nodiscard]] std::optional<Verdict> verdict_from_word(std::string_view word);

// A reading with the names of what was measured where.
struct TakenReading {
    std::string take;      // label of the take
    std::string circuit;   // the one that was unmuted; several together are joined with "+" and serve only sum checks
    std::string mic;
    std::string position;
    signal::Reading reading;
};

// Something measured by hand (inclinometer, laser, tape), compared with the sound and combined where they agree.
struct HandReading {
    plan::CheckKind kind = plan::CheckKind::aim_h;
    std::string subject;
    double value = 0.0;  // measured minus planned, in the check's unit
    double u = 0.0;
    std::string who;
};

struct Input {
    plan::Plan plan;
    std::optional<acoustics::Air> air;         // measured on site
    std::vector<TakenReading> readings;        // oldest first; the newest usable one of a circuit at a position counts
    std::vector<HandReading> hand;
    std::optional<std::string> gear_fault;     // why the measuring chain is not proven bad: passes become unsure with it
    std::vector<std::string> mics_matched;     // mics with calibrator or match take: mic_match_db does not apply
};

// One line of an uncertainty budget.
struct BudgetLine {
    std::string source;
    double u = 0.0;  // standard, in the check's unit
};

struct CheckResult {
    plan::CheckKind kind = plan::CheckKind::sounding;
    std::string subject;
    Verdict verdict = Verdict::open;
    std::optional<double> value;        // signed, measured minus planned
    std::string unit;                   // "deg", "m", "dB", "ms", ""
    std::optional<double> uncertainty;  // expanded to the plan's confidence, two-sided
    std::optional<double> probability;  // of conformity
    std::optional<double> target;
    std::optional<double> tolerance;
    std::vector<std::string> takes, positions;
    std::string says;    // one sentence, no full stop
    std::string advice;  // what to do; empty when nothing
    std::vector<BudgetLine> budget;
    std::optional<double> predicted_u;  // standard uncertainty expected from the plan alone
};

struct Fit {
    std::string box;
    std::optional<double> pan_deg, pan_u_deg, tilt_deg, tilt_u_deg, gain_db, gain_u_db;
    std::array<std::optional<double>, 3> at, at_u;  // metres
    std::vector<std::string> outliers;  // positions whose reading fits nothing and was left out, by name
};

struct Judgement {
    std::vector<CheckResult> checks;  // in the order of plan::checks
    std::vector<Fit> fits;            // one a box with any evidence
    std::optional<Measured> drive_latency_ms;  // solved for when the plan has none
};

[[nodiscard]] Judgement judge(const Input& input);

}  // namespace proofwalk::verify
