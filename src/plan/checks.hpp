// The checks that follow from a plan, in the order of the tally: circuits, then boxes, then pairs.
#pragma once

#include <optional>
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
    std::vector<std::string> missing;  // needed roles that no position of the plan serves: "on-axis of M1"
    std::string array;                 // for pairs: the first that has them as neighbours
    Band band_hz;                      // where it is judged
    friend bool operator==(const PlannedCheck&, const PlannedCheck&) = default;
};

[[nodiscard]] std::vector<PlannedCheck> checks(const Plan& plan);

// Where two neighbours are judged: the array's band_hz, else what their aim bands share, else what their ranges share;
// nothing when they share no frequency at all.
[[nodiscard]] std::optional<Band> pair_band(const Plan& plan, const Array& array, const Box& first, const Box& second);

}  // namespace proofwalk::plan
