// Paper for the crew as rows of text: rigging, mics and patch. How they look is the report's matter.
#pragma once

#include <string>
#include <vector>

#include "plan/plan.hpp"
#include "units/lengths.hpp"

namespace proofwalk::plan {

struct Sheet {
    std::string name;    // "rigging", "mics", "patch": also the file's name
    std::string title;
    std::vector<std::string> notes;    // cautions and what the columns mean, above the table
    std::vector<std::string> columns;
    std::vector<std::vector<std::string>> rows;
};

// Two places on the floor that a tape can be held to, seen from above.
struct TapePoints {
    Vec3 a, b;
    std::string a_name, b_name;
};
// Where the line of the stage's edge (x = 0) meets the sides of the first area, or 5 m either side of the middle.
[[nodiscard]] TapePoints stage_corners(const Plan& plan);

// Per box: trim height (top of the box where the model's size is known), place, tilt, pan, splay to the next box of its array.
[[nodiscard]] Sheet rigging_sheet(const Plan& plan, LengthUnit unit);
// Positions in the order of the plan with coordinates, two tape lengths along the floor, height, and what they serve.
[[nodiscard]] Sheet mic_sheet(const Plan& plan, LengthUnit unit, const TapePoints& tapes);
// Output, patch text, circuit, boxes, gain, delay, polarity.
[[nodiscard]] Sheet patch_sheet(const Plan& plan);

// RFC 4180, with a header line; notes are left out.
[[nodiscard]] std::string csv(const Sheet& sheet);

// The place that two tapes along the floor meet in, on the audience's side of the line from a to b (the side of larger x;
// for a line along x, of larger y). Nothing when they don't reach each other.
[[nodiscard]] std::optional<Vec3> from_tapes(const TapePoints& tapes, double from_a_m, double from_b_m);

}  // namespace proofwalk::plan
