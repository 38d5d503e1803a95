// Subwoofers: omni boxes whose direction comes from place, delay and polarity. docs/formulas.md, "Subs".
#pragma once

#include <vector>

#include "units/fault.hpp"

namespace proofwalk::acoustics {

enum class SubPreset {
    end_fired,  // in a row towards the audience, each delayed so that all arrive together in front
    gradient,   // two, the rear one inverted and delayed so that they cancel behind
};

struct SubElement {
    double ahead_m = 0.0;   // from the rear-most towards the audience
    double delay_ms = 0.0;
    bool inverted = false;
    double gain_db = 0.0;
};
// Elements from the rear to the front. End-fired: two or more; gradient: two. Fault: a spacing that is not positive, or so
// wide that the pattern breaks up inside the band (end-fired above a half, gradient above a half wavelength of high_hz), with
// the widest possible spacing.
[[nodiscard]] Result<std::vector<SubElement>> sub_preset(SubPreset preset, std::size_t elements, double spacing_m, double high_hz, double speed_m_per_s);

// Level in dB re one element, far away, towards an angle from straight ahead.
[[nodiscard]] double sub_level_db(const std::vector<SubElement>& elements, double angle_deg, double frequency_hz, double speed_m_per_s);

// How a sub and a main meet at a place, in their own band.
struct SubAlignment {
    double sub_delay_ms = 0.0;   // on top of the sub's planned delay; negative: delay the main by that much instead
    double sub_gain_db = 0.0;    // on top of the sub's planned gain, for equal level there; meaningless without levels
    double lag_at_60_deg_ms = 0.0;  // an error that costs at most 1.25 dB of the sum at the middle of the band: 1/(6 f)
};
// Distances and delays as planned, levels at the place in the band.
struct SubAndMain {
    double sub_distance_m = 0.0, main_distance_m = 0.0;
    double sub_delay_ms = 0.0, main_delay_ms = 0.0;
    double sub_level_db = 0.0, main_level_db = 0.0;
    double low_hz = 60.0, high_hz = 120.0;
};
[[nodiscard]] SubAlignment align_sub(const SubAndMain& pair, double speed_m_per_s);

}  // namespace proofwalk::acoustics
