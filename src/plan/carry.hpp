// A rig carried to another venue: boxes, models, arrays and rules stay; places, aims, delays and mic positions are worked
// out anew. docs/formulas.md, "Carrying a rig".
#pragma once

#include <string>
#include <vector>

#include "plan/plan.hpp"

namespace proofwalk::plan {

struct Carried {
    Plan plan;
    std::vector<std::string> notes;  // what could not be carried, and what a person has to look at
};

// `venue` gives name, air and areas (its boxes, if any, are ignored). Boxes at the stage keep their distance from its edge,
// boxes in the room keep their share of the way from the first to the last row, distances from the middle grow with the
// width of the first area, heights keep their height above the ears. Boxes that hang together (coupled and line arrays) move
// as one. Each axis lands on the same share of the area of the same number. Along delay arrays level and delay are set so
// that the boxes meet at the carried crossover place as they did before. Mics are placed anew.
[[nodiscard]] Carried carry(const Plan& rig, const Plan& venue);

}  // namespace proofwalk::plan
