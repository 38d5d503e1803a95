// Where a listener stands as a box sees it. Frame and signs: docs/architecture.md and the plan format.
#pragma once

#include "units/vec3.hpp"

namespace proofwalk::acoustics {

// Where a box stands and points. pan turns the axis from +x towards +y; tilt lifts it above the horizontal; roll is zero.
struct Pose {
    Vec3 at;
    double pan_deg = 0.0;
    double tilt_deg = 0.0;
};

struct Axes {
    Vec3 forward, left, up;  // unit vectors
};
[[nodiscard]] Axes axes(double pan_deg, double tilt_deg);

struct Bearing {
    double distance_m = 0.0;
    double h_deg = 0.0;  // atan2(left, forward): positive to the box's left
    double v_deg = 0.0;  // atan2(up, hypot(forward, left)): positive above the axis
};
[[nodiscard]] Bearing bearing(const Pose& box, Vec3 listener);

// pan and tilt of the direction from one point to another.
struct Direction {
    double pan_deg = 0.0;
    double tilt_deg = 0.0;
};
[[nodiscard]] Direction direction(Vec3 from, Vec3 to);

// Angle in space between two axes, degrees, 0..180.
[[nodiscard]] double angle_between_deg(Direction a, Direction b);

}  // namespace proofwalk::acoustics
