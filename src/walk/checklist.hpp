// Parts of a tally: what concerns one box, array or area, and what has certain verdicts.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "plan/plan.hpp"
#include "units/fault.hpp"
#include "verify/tally.hpp"

namespace proofwalk::walk {

// A box: its own checks, its circuit's, and those of pairs with it. An array: the checks of its boxes and circuits, and of
// pairs inside it. An area: the checks that are measured at a position on it.
[[nodiscard]] bool concerns_box(const plan::Plan& plan, const verify::CheckResult& check, const std::string& box);
[[nodiscard]] bool concerns_array(const plan::Plan& plan, const verify::CheckResult& check, const std::string& array);
[[nodiscard]] bool concerns_area(const plan::Plan& plan, const verify::CheckResult& check, const std::string& area);

// Boxes or arrays, as a sign-off names them; without any the whole plan.
[[nodiscard]] bool in_scope(const plan::Plan& plan, const verify::CheckResult& check, const std::vector<std::string>& scope);
// The first name that is neither a box nor an array of the plan, with what may have been meant.
[[nodiscard]] std::optional<Fault> unknown_in_scope(const plan::Plan& plan, const std::vector<std::string>& scope);

struct CheckFilter {
    std::vector<std::string> verdicts;  // in words; none: every verdict
    std::string box, array, area;       // empty: any
};
// The checks that pass every given filter, in their order; fits of boxes that no such check concerns are left out.
// Faults: a word that is no verdict; a box, array or area that the plan does not have.
[[nodiscard]] Result<verify::Tally> filtered(const plan::Plan& plan, verify::Tally tally, const CheckFilter& filter);

}  // namespace proofwalk::walk
