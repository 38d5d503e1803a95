// Triangles: any three known pieces (two, when one corner is a right angle) give the rest. docs/formulas.md, "Triangles".
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "units/fault.hpp"

namespace proofwalk::acoustics {

// Sides in metres (any one unit will do), angles in degrees; angle i lies opposite side i.
struct Triangle {
    std::array<double, 3> side{};
    std::array<double, 3> angle_deg{};
};

struct TriangleKnown {
    std::array<std::optional<double>, 3> side;
    std::array<std::optional<double>, 3> angle_deg;
};

// One triangle, or two where two sides and an angle opposite one of them fit twice (the larger remaining angle second).
// Faults, with the nearest possible answer: too few or too many pieces, three angles alone, a side too long or too short,
// angles of 180 degrees or more in all, pieces that are not positive.
[[nodiscard]] Result<std::vector<Triangle>> solve_triangle(const TriangleKnown& known);

// The path from a box to a seat that lies `distance_m` away on the floor plan and `height_m` below it.
struct Throw {
    double path_m = 0.0;
    double depression_deg = 0.0;  // below the horizontal; negative when the seat lies higher
};
[[nodiscard]] Throw throw_to(double height_m, double distance_m);

}  // namespace proofwalk::acoustics
