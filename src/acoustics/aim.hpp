// Aim and coverage of one box by the equal-level rule: both ends of the audience get the same level in the aim band.
// Derivations: docs/formulas.md, "Aim". All angles in one plane, degrees; losses in dB, positive.
#pragma once

#include <functional>
#include <vector>

#include "acoustics/air.hpp"
#include "acoustics/directivity.hpp"
#include "acoustics/geometry.hpp"
#include "units/fault.hpp"

namespace proofwalk::acoustics {

// One end of the audience as the box sees it.
struct End {
    double angle_deg = 0.0;  // in the plane of the aim, any zero
    double loss_db = 0.0;    // of distance and air
};

// Where the axis must lie so that the beam model (full angle `coverage_deg`) gives both ends the same level:
// (a1 + a2)/2 + C^2 (D2 - D1) / (48 (a2 - a1)). The ends must differ in angle. Unique.
[[nodiscard]] double equal_level_aim_deg(End one, End other, double coverage_deg);

// The coverage that the geometry wants when w is the angle between the ends and q the difference of their losses:
// the nearer end lies on the -6 dB edge and the levels are equal, w * 12 (1 - sqrt(1 - q/6)) / q, up to q = 6 dB, where the
// axis has reached the farther end; beyond that the axis stays on it: w * sqrt(24/q).
[[nodiscard]] double wanted_coverage_deg(End one, End other);

// The axis by any directivity in its aim band, solved numerically; the beam model's answer is where the search starts.
// `loss_db(off_axis_deg)` is 0 on axis and negative off it; positive off-axis angles lie towards larger angles.
// Fault when no axis within 90 degrees of the ends gives both the same level.
[[nodiscard]] Result<double> equal_level_aim_numeric_deg(End one, End other, const std::function<double(double)>& loss_db);

// A row of seats seen from the side: `height_m` is how far the box hangs above the ears there, `distance_m` how far away
// they are on the floor plan, ahead of the box.
struct Row {
    double height_m = 0.0;
    double distance_m = 0.0;
};

struct VerticalAim {
    double tilt_deg = 0.0;            // of the box: negative is down
    double tilt_wanted_deg = 0.0;     // before the box's limits
    double front_db = 0.0, back_db = 0.0;  // re 1 m on axis
    double loudest_db = 0.0, quietest_db = 0.0;  // along the straight line from front to back
    double wanted_coverage_deg = 0.0;
    double axis_lands_m = 0.0;        // where the axis meets the line of ears, along the floor; negative: it does not
    bool beyond_beam = false;         // an end lies where the beam model ends (-30 dB): the figures there mean nothing
};
struct TiltLimits {
    double lowest_deg = -90.0, highest_deg = 90.0;
};
// Equal ends do not mean even coverage: a beam much narrower than wanted_coverage_deg leaves the middle louder, so the
// loudest and the quietest place are stated too. Fault: rows behind the box, in one place, or in the wrong order.
[[nodiscard]] Result<VerticalAim> vertical_aim(Row front, Row back, double coverage_deg, double air_db_per_m, TiltLimits limits = {});
// The same for any directivity, by numeric solution in a band.
[[nodiscard]] Result<VerticalAim> vertical_aim(Row front, Row back, const Directivity& directivity, double low_hz, double high_hz,
                                               double air_db_per_m, TiltLimits limits = {});

struct HorizontalAim {
    double pan_deg = 0.0;              // equal level at the two outermost corners
    double middle_pan_deg = 0.0;       // half-way between them
    double left_deg = 0.0, right_deg = 0.0;  // pan towards the outermost corners
    double wanted_coverage_deg = 0.0;
    double corner_db = 0.0;            // level at both corners re 1 m on axis, in the box's horizontal plane
};
// The pan of a box at `at` for an audience with these corners (any shape, any order). Fault: an audience that surrounds the
// box or takes more than half of its horizon, which one box can't serve.
[[nodiscard]] Result<HorizontalAim> horizontal_aim(Vec3 at, const std::vector<Vec3>& corners, double coverage_deg, double air_db_per_m);

// Coverage and aim in one step.
struct CoverageNeed {
    double pan_deg = 0.0, tilt_deg = 0.0;
    double coverage_h_deg = 0.0, coverage_v_deg = 0.0;
};
// Corners as for horizontal_aim, in the order of the outline; the vertical figures are for its nearest and farthest place.
[[nodiscard]] Result<CoverageNeed> coverage_need(Vec3 at, const std::vector<Vec3>& corners, double air_db_per_m);

}  // namespace proofwalk::acoustics
