// Delay speakers down a room: place, aim, level and delay of each, in a chain that joins without a gap.
// Seen from the side along the middle of the room; docs/formulas.md, "Delay speakers".
#pragma once

#include <vector>

#include "acoustics/aim.hpp"
#include "units/fault.hpp"

namespace proofwalk::acoustics {

struct ChainWish {
    // The main: hangs at 0 m, ears `main_height_m` below it.
    double main_height_m = 4.0;
    double main_tilt_deg = 0.0;
    double main_coverage_v_deg = 60.0;
    double main_level_1m_db = 0.0;   // aim band, on axis, as it plays; any common zero
    double first_row_m = 4.0;
    // The delay speakers.
    double box_height_m = 3.5;       // above the ears
    double box_coverage_v_deg = 60.0;
    double box_level_1m_db = 0.0;    // at gain 0, same zero as the main's
    std::vector<double> joins_m;     // where each takes over, from the main outwards; rising
    double last_row_m = 50.0;
    double late_ms = 0.0;            // wanted arrival of each after the box before it, at their join; 0: together
    double air_db_per_m = 0.0;       // in the aim band
    double speed_m_per_s = 344.0;
};

struct ChainBox {
    double join_m = 0.0, end_m = 0.0;  // its zone
    double at_m = 0.0;                 // along the room
    double tilt_deg = 0.0;
    double gain_db = 0.0;              // so that it is as loud at its join as the box before it
    double delay_ms = 0.0;             // on top of the main's
    double join_level_db = 0.0;        // of each of the two there
    double quietest_db = 0.0, loudest_db = 0.0;  // of it alone in its zone
    // Around the join, where the two are within 10 dB of each other, and how late it is against the box before at both ends
    // (positive: late; what lies before the join is nearer to the main).
    double overlap_from_m = 0.0, overlap_to_m = 0.0;
    double late_at_from_ms = 0.0, late_at_to_ms = 0.0;
};

// Places each box so far before its join that its coverage is what its zone wants (wanted_coverage_deg), aims it by the
// equal-level rule, never past the end of its zone, and sets level and delay at the join. Faults: joins that do not rise or lie outside the room, a box that
// even from far away is too narrow or hangs below the ears.
[[nodiscard]] Result<std::vector<ChainBox>> delay_chain(const ChainWish& wish);

// Where to join when only the number of boxes is known: the first where the main has fallen by `fall_db` below its loudest
// row, the others in even steps to the last row. Fault when the main never falls that far inside the room.
[[nodiscard]] Result<std::vector<double>> even_joins(const ChainWish& wish, std::size_t boxes, double fall_db);

// Delay that makes the second box arrive `late_ms` after the first at a place: (r1 - r2)/c + d1 + late, ms. Negative: the
// first one has to be delayed instead.
[[nodiscard]] double delay_for_ms(double distance_1_m, double delay_1_ms, double distance_2_m, double late_ms, double speed_m_per_s);

}  // namespace proofwalk::acoustics
