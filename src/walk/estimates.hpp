// Estimates of the design desk in words and figures: one wording for the command line and for the window. The reckoning is
// in acoustics; a drawing and what the answer rests on stand beside it.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "acoustics/aim.hpp"
#include "acoustics/splay.hpp"
#include "plan/plan.hpp"
#include "report/estimate.hpp"
#include "units/fault.hpp"
#include "units/lengths.hpp"

namespace proofwalk::walk {

// Air loss per metre in a band, as the power mean over a path of some length.
[[nodiscard]] double air_db_per_m(const acoustics::Air& air, double low_hz, double high_hz, double path_m);

template <class Answer>
struct Estimated {
    Answer answer;
    report::Estimate estimate;
};

struct VerticalQuestion {
    acoustics::Row front, back;
    const plan::Model* model = nullptr;  // null: the beam model with this coverage
    double coverage_deg = 0.0;
    acoustics::TiltLimits limits;
    acoustics::Air air;
    bool not_past_the_last_row = false;  // aimed at the last row where equal levels would want the axis behind it
};
[[nodiscard]] Result<Estimated<acoustics::VerticalAim>> vertical_estimate(const VerticalQuestion& question);

struct HorizontalQuestion {
    Vec3 at;
    std::vector<Vec3> corners;
    double coverage_deg = 0.0;
    acoustics::Air air;
};
[[nodiscard]] Result<Estimated<acoustics::HorizontalAim>> horizontal_estimate(const HorizontalQuestion& question);
// Seen from above: the audience, the axis and the edges of a coverage.
[[nodiscard]] report::EstimateSketch audience_sketch(Vec3 at, const std::vector<Vec3>& corners, double pan_deg, double coverage_deg);
[[nodiscard]] double mean_path_m(Vec3 at, const std::vector<Vec3>& corners);

struct SplayQuestion {
    double coverage_1_deg = 90.0, coverage_2_deg = 90.0;  // the louder box first
    double quieter_db = 0.0, join_db = 6.0;
    bool vertical = false;
    const plan::Model *measured_1 = nullptr, *measured_2 = nullptr;  // both: by their patterns instead
    double tilt_1_deg = 0.0, tilt_2_deg = 0.0;  // for the difference of pans
    double middle_deg = 0.0;
    double given_deg = 0.0;  // above 0: where they meet when opened by this angle
};
struct SplayAnswer {
    acoustics::Splay splay;
    std::optional<double> pan_apart_deg;  // at those tilts, when they are not level
};
[[nodiscard]] Result<Estimated<SplayAnswer>> splay_estimate(const SplayQuestion& question);

struct SpacingQuestion {
    acoustics::SpacingWish wish;
    int boxes = 2;
    LengthUnit unit = LengthUnit::metres;
};
[[nodiscard]] Result<Estimated<acoustics::Spacing>> spacing_estimate(const SpacingQuestion& question);

[[nodiscard]] std::string downwards(double tilt_deg);  // "12.0 degrees down"

}  // namespace proofwalk::walk
