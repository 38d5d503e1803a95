// How a simulated box radiates: a horn with rounded-rectangular contours that lets go of the pattern below its control
// frequency, narrows slowly above it, and keeps a rear lobe. It meets the plan's coverage where the plan says it is
// measured (power mean of the aim band at -6 dB) and is no parabola. docs/rehearsal.md, "Directivity".
#pragma once

#include <array>
#include <memory>
#include <string_view>

#include "plan/plan.hpp"
#include "rehearsal/keyed_random.hpp"

namespace proofwalk::rehearsal {

// What the makers' data sheet says of a model is right only within its stated uncertainty: the same for all its boxes.
struct ModelShape {
    double coverage_h_deg = 90.0, coverage_v_deg = 60.0;  // true ones
    double steepness = 2.0;  // loss grows with the angle to this power
    double corner = 2.0;     // 2: elliptic contours; higher: towards a rectangle
};

class Horn {
public:
    // `exact`: no spread at all, for tests.
    Horn(const plan::Model& model, const ModelShape& shape, KeyedRandom unit, bool exact);

    // dB, 0 on axis. Angles as a plan states them: left and up of the box's axis.
    [[nodiscard]] double loss_db(double h_deg, double v_deg, double frequency_hz) const;

private:
    struct Wave {
        double per_deg_h, per_deg_v, phase, weight;
    };
    [[nodiscard]] double half_angle_deg(double half_coverage_deg, double control_hz, double frequency_hz) const;
    [[nodiscard]] double horn_loss_db(double h_deg, double v_deg, double frequency_hz) const;
    [[nodiscard]] double unit_ripple_db(double h_deg, double v_deg) const;
    void meet_coverage(const plan::Band& aim_band);

    plan::Pattern pattern_;
    std::shared_ptr<const acoustics::Directivity> measured_;  // set when the plan names a measured file
    ModelShape shape_;
    double half_h_deg_ = 45.0, half_v_deg_ = 30.0;
    double control_h_hz_ = 0.0, control_v_hz_ = 0.0;
    std::array<Wave, 5> waves_{};
    double ripple_db_ = 0.0;
};

[[nodiscard]] ModelShape model_shape(const plan::Model& model, KeyedRandom random, bool exact);

}  // namespace proofwalk::rehearsal
