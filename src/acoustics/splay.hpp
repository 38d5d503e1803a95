// Splay and spacing of pairs. Derivations: docs/formulas.md, "Splay" and "Spacing". Degrees and dB; the second box may be
// quieter by q dB (0 <= q).
#pragma once

#include "acoustics/directivity.hpp"
#include "units/fault.hpp"

namespace proofwalk::acoustics {

// A pair in one place. `loss_at_join_db`: how far both are below the louder one's axis where they meet; 6 dB sums to unity.
struct SplayWish {
    double coverage_1_deg = 90.0;  // the louder box
    double coverage_2_deg = 90.0;
    double quieter_db = 0.0;       // q of the second box
    double loss_at_join_db = 6.0;
};
struct Splay {
    double splay_deg = 0.0;         // angle in space between the axes
    double join_from_1_deg = 0.0;   // from the louder box's axis towards the other
    double axis_1_deg = 0.0, axis_2_deg = 0.0;  // in the plane of the pair, zero at the middle of what both cover (their own -6 dB edges)
    double covered_deg = 0.0;       // from outer -6 dB edge to outer -6 dB edge
};
// S = C1/2 sqrt(X/6) + C2/2 sqrt((X-q)/6). Fault when q >= X: the quieter box never takes over.
[[nodiscard]] Result<Splay> splay_for(const SplayWish& wish);
// By measured patterns in a band, along the horizontal (or vertical) arc: the louder box's side towards smaller angles, the
// other's towards larger ones.
[[nodiscard]] Result<Splay> splay_for(const Directivity& louder, const Directivity& other, bool vertical, double low_hz, double high_hz,
                                      double quieter_db, double loss_at_join_db);

// Where the two are equally loud when the splay is given, from the louder box's axis: for equal coverage
// S/2 + C^2 q / (48 S), else the root of 24 h^2/C1^2 - 24 (S-h)^2/C2^2 = q that lies in 0..S. Fault when there is none.
[[nodiscard]] Result<double> join_of(double splay_deg, double coverage_1_deg, double coverage_2_deg, double quieter_db);

// The difference of pans that opens two boxes of given tilts by an angle in space: cos S = sin t1 sin t2 + cos t1 cos t2 cos P.
// Fault when no pan does (the tilts alone open them further, or not far enough).
[[nodiscard]] Result<double> pan_apart_deg(double splay_deg, double tilt_1_deg, double tilt_2_deg);

// Two boxes side by side whose coverage meets at a depth in front of the line between them.
struct SpacingWish {
    double coverage_1_deg = 90.0, coverage_2_deg = 90.0;
    double quieter_db = 0.0;
    double depth_m = 5.0;
    double splay_deg = 0.0;        // opened outwards, half each
    double loss_at_join_db = 6.0;  // below the louder box's level straight ahead at that depth
};
struct Spacing {
    double spacing_m = 0.0;        // with the longer way to the join in the reckoning
    double angle_only_m = 0.0;     // coverage edges drawn with a ruler: louder in the middle is not corrected for distance
    double join_from_1_m = 0.0;    // along the line, from the louder box
};
// Solves 24 h^2/C^2 - 20 lg cos(h - S/2) = X for each box (X - q for the second); spacing = depth (tan(h1 - S/2) + tan(h2 - S/2)).
// Fault: no such place within 89 degrees, q >= X, or boxes opened so far that they never meet.
[[nodiscard]] Result<Spacing> spacing_for(const SpacingWish& wish);

// Sums of two at one place, from the level difference: peak and dip of the comb re the louder, its ripple and the power sum.
struct TwoSources {
    double peak_db = 0.0, dip_db = 0.0, ripple_db = 0.0, power_db = 0.0;
};
[[nodiscard]] TwoSources two_sources(double difference_db);

// Mean level over a band low..high of two arrivals of levels l1, l2 (dB) that are dt apart, power mean over frequency:
// a^2 + b^2 + 2ab (sin 2 pi f2 dt - sin 2 pi f1 dt) / (2 pi dt (f2 - f1)).
[[nodiscard]] double coherent_sum_db(double level_1_db, double level_2_db, double apart_s, double low_hz, double high_hz);

}  // namespace proofwalk::acoustics
