// Two boxes over an audience: how even they are and how much they comb, place by place. docs/formulas.md, "Aiming in".
#pragma once

#include <memory>
#include <vector>

#include "acoustics/directivity.hpp"
#include "acoustics/geometry.hpp"
#include "units/fault.hpp"

namespace proofwalk::acoustics {

struct PairWish {
    double half_spacing_m = 6.0;   // the boxes hang at y = +- this
    double height_m = 5.0;
    double tilt_deg = -10.0;
    std::shared_ptr<const Directivity> box;
    double aim_low_hz = 2000.0, aim_high_hz = 8000.0;
    double air_db_per_m = 0.0, speed_m_per_s = 344.0;
    // Audience: near and far row at ear height, both centred.
    double near_m = 3.0, far_m = 21.0, near_width_m = 16.0, far_width_m = 20.0, ear_m = 1.2;
};

struct PlaceHeard {
    Vec3 at;
    double level_db = 0.0;       // power sum of both, aim band, re one at 1 m on axis
    double difference_db = 0.0;  // left box minus right box
    double apart_ms = 0.0;       // right box after left box
    double ripple_db = 0.0;      // of the comb, peak to dip; 40 dB at most
};

struct AimedIn {
    double aimed_in_deg = 0.0;   // each box turned towards the middle; negative: outwards
    double mean_db = 0.0, spread_db = 0.0;      // of level_db over the audience: mean and standard deviation
    double quietest_db = 0.0, loudest_db = 0.0;
    double mean_ripple_db = 0.0;
    double combed_share = 0.0;   // of the audience with a ripple above 6 dB
    std::vector<PlaceHeard> places;  // row by row from near to far, each from y < 0 to y > 0
    std::size_t rows = 0, columns = 0;
};

// One entry an angle. Fault: an audience behind the boxes, no pattern.
[[nodiscard]] Result<std::vector<AimedIn>> aim_in_table(const PairWish& wish, const std::vector<double>& aimed_in_deg, std::size_t rows = 24, std::size_t columns = 25);

}  // namespace proofwalk::acoustics
