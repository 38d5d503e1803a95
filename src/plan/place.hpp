// Mic positions worked out from the plan. docs/formulas.md, "Mic positions".
#pragma once

#include <string>
#include <vector>

#include "plan/plan.hpp"

namespace proofwalk::plan {

struct PlaceOptions {
    std::vector<std::string> keep;  // positions of the plan that stay where they are, with what they serve; empty list and
    bool keep_all = false;          // false: all are placed anew
    double margin_m = 0.4;          // from the outline of an audience area
};

// A role that no place on the audience serves, and why.
struct Unplaced {
    Role role = Role::on_axis;
    std::vector<std::string> boxes;
    std::string why;
};

struct Placement {
    std::vector<Position> positions;  // in walking order
    std::vector<Unplaced> unplaced;
    double walk_m = 0.0;              // along the positions in order
};

// For every beam box an on-axis place, the four -6 dB edges at the height of its axis, or the widest that the audience allows
// (at least 0.35 of the half coverage, or the edge tells nothing), for omni boxes the nearest good seat; for every pair of
// neighbours on different circuits the place where both are equally loud. Boxes of one circuit that hang together share
// their on-axis place. All on the audience planes, inside the margin, to the centimetre.
// Roles are merged where one place serves several within what the checks can tell apart: on-axis places within 0.4 dB of
// the best, edges within 0.15 of the half coverage along and 0.3 across, crossovers within 0.5 dB of the balance at the best place.
[[nodiscard]] Placement place(const Plan& plan, const PlaceOptions& options = {});

// The positions in an order that is short to walk, from the one nearest to the stage's front.
[[nodiscard]] std::vector<Position> in_walking_order(std::vector<Position> positions);
[[nodiscard]] double walk_length_m(const std::vector<Position>& positions);

}  // namespace proofwalk::plan
