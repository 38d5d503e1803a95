// Estimates asked of a plan: the questions are put together from a box, its neighbour, the audience and the positions, and
// the answer comes with the figures that it would change in the plan.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "walk/estimates.hpp"

namespace proofwalk::walk {

enum class DeskQuestion { vertical_aim, horizontal_aim, splay, spacing, delay };
[[nodiscard]] std::string_view word(DeskQuestion question);  // "vertical aim", ...
[[nodiscard]] std::span<const DeskQuestion> desk_questions();

// A figure of the plan as the estimate would have it.
struct Suggestion {
    std::string box;
    std::string key;  // of the plan's file ("tilt_deg"); "x", "y" and "z" are the parts of a box's place
    double value = 0.0, now = 0.0;
    std::string unit;
    int decimals = 2;
};

struct DeskAnswer {
    report::Estimate estimate;
    std::vector<Suggestion> suggestions;
    std::string area, partner;  // what it was reckoned with; empty where none is asked
};

// `area`: the audience it is for; empty: where the axis lands, else the first ahead. `partner`: the other box of a pair; empty: its
// first neighbour in an array that the question fits. Faults: a plan or a box that the question can't be asked of, and why.
[[nodiscard]] Result<DeskAnswer> desk_estimate(const plan::Plan& plan, DeskQuestion question, const std::string& box, const std::string& area = {},
                                               const std::string& partner = {});

// The boxes next to a box in the plan's arrays of the kinds that a question about pairs fits, each once.
[[nodiscard]] std::vector<std::string> partners_of(const plan::Plan& plan, DeskQuestion question, const std::string& box);

}  // namespace proofwalk::walk
