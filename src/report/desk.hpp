// What the design desk made of a plan, arranged for people and programs: mic places, differences, crew sheets.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "plan/diff.hpp"
#include "plan/place.hpp"
#include "plan/sheets.hpp"
#include "report/report.hpp"
#include "units/lengths.hpp"

namespace proofwalk::report {

// How sure a check will be with the positions before and after, standard uncertainties in the check's unit.
struct PredictedAccuracy {
    std::string check, subject, unit;
    std::optional<double> before_u, after_u;
    verify::Verdict before = verify::Verdict::open, after = verify::Verdict::open;  // of a rig that hangs as planned
    std::string says;                                                              // why it could not pass; empty when it could
};

// "format": "proofwalk.place/1"
[[nodiscard]] std::string place_json(const plan::Placement& placement, const std::vector<PredictedAccuracy>& accuracy);
[[nodiscard]] std::string place_text(const plan::Placement& placement, const std::vector<PredictedAccuracy>& accuracy, const TextStyle& style,
                                     LengthUnit unit);

struct PlanDifference {
    std::string before_name, after_name;  // files
    std::vector<plan::Difference> words;
    std::vector<plan::TargetChange> targets;
    std::vector<plan::CheckChange> checks;
};
// "format": "proofwalk.diff/1"
[[nodiscard]] std::string diff_json(const PlanDifference& difference);
[[nodiscard]] std::string diff_text(const PlanDifference& difference, const TextStyle& style);

// A printable page with one crew sheet a section, self-contained.
[[nodiscard]] std::string crew_sheets_html(const std::string& show, const std::vector<plan::Sheet>& sheets, const std::string& room_svg,
                                           const std::string& tool);

}  // namespace proofwalk::report
