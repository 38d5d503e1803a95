// The checks that follow from a plan, in the order of the tally: circuits, then boxes, then pairs.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "plan/plan.hpp"

namespace proofwalk::plan {

enum class CheckKind { sounding, polarity, response, level, arrival, aim_h, aim_v, splay, spacing, crossover, alignment };

[[nodiscard]] std::string_view word(CheckKind kind);  // "sounding", "aim-h", ...
[[nodiscard]] std::optional<CheckKind> check_from_word(std::string_view word);

struct PlannedCheck {
    CheckKind kind = CheckKind::sounding;
    std::string subject;               // circuit, box, or "A+B"
    std::vector<std::string> boxes;    // one or two; for sounding every box of the circuit
    std::vector<std::string> circuits; // that must sound, one after another
    std::vector<std::string> positions; // that its takes need (all of them; for edges, those that exist)
    std::string array;                 // for pairs
    Band band_hz;                      // where it is judged
    friend bool operator==(const PlannedCheck&, const PlannedCheck&) = default;
};

[[nodiscard]] std::vector<PlannedCheck> checks(const Plan& plan);

}  // namespace proofwalk::plan
