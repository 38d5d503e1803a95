// What changed between two plans: in words, in what is heard, and in which verdicts no longer stand.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "plan/checks.hpp"
#include "plan/plan.hpp"

namespace proofwalk::plan {

struct Difference {
    std::string section;  // "box", "model", "position", "rules", ...
    std::string subject;  // id; empty for the plan itself, air, drive and rules
    std::string words;    // "tilted down by 4.00 deg, from -12.00 to -16.00", no full stop
    friend bool operator==(const Difference&, const Difference&) = default;
};
// In the order of the format: plan, air, drive, rules, areas, models, boxes, arrays, positions.
[[nodiscard]] std::vector<Difference> differences(const Plan& before, const Plan& after);

// What a position that both plans have should now hear differently of a box that both have: more than 0.05 ms or 0.1 dB.
struct TargetChange {
    std::string box, position;
    double arrival_ms = 0.0;   // after less before
    double aim_band_db = 0.0;
    double h_deg = 0.0, v_deg = 0.0;
};
[[nodiscard]] std::vector<TargetChange> target_changes(const Plan& before, const Plan& after);

// A check of the later plan whose earlier verdict does not stand any more, and why; checks that are new; and checks that
// are asked no longer.
struct CheckChange {
    enum class Kind { reopened, added, dropped };
    Kind kind = Kind::reopened;
    CheckKind check = CheckKind::sounding;
    std::string subject;
    std::string why;  // "box M1: tilted down by 4.00 deg ..."; empty for added and dropped
};
// A verdict stands while nothing it rests on changed: its boxes and their models, its circuits' company, the places of its
// positions, its band, its tolerance and the decision rule. Level and response rest on all boxes of the model.
[[nodiscard]] std::vector<CheckChange> check_changes(const Plan& before, const Plan& after);

}  // namespace proofwalk::plan
