// What walking, carrying and taking cost a crew, in seconds. Defaults are common practice, no source; `adapted` learns
// them from what a crew really took.
#pragma once

#include <span>
#include <vector>

#include "units/vec3.hpp"

namespace proofwalk::walk::route {

struct Crew {
    int mics = 4;
    int people = 1;                // who carry stands; two halve the walking and the placing
    Vec3 start{0.0, 0.0, 0.0};     // where stands and people are before the first round
    double walk_mps = 1.2;         // with or without a stand, between rows
    double detour = 1.25;          // aisles instead of straight lines
    double stairs_s_per_m = 6.0;   // of height difference beyond half a metre, up or down
    double place_s = 12.0;         // one stand: height, aim, tape mark
    double take_s = 5.0;           // one take, first sample to last
    double mute_change_s = 2.0;    // unmuting another circuit by hand; 0 where outputs are driven directly
    bool overlap = false;          // circuits with outputs of their own sound together in one take, one sweep into the next
    double overlap_gap_s = 1.7;    // what each further circuit of such a take adds: the decay and the harmonics of the one before
};

// Seconds from one place to the other for one person. Symmetric; 0 only for the same place.
[[nodiscard]] double walk_s(const Crew& crew, Vec3 from, Vec3 to);

// A step as it was planned and as it went.
struct StepTime {
    double walk_s = 0.0, place_s = 0.0, take_s = 0.0;  // planned parts
    double actual_s = 0.0;
};
// The crew with walking, placing and taking scaled to what really happened (least squares over the parts, each scale held
// between a third and three; parts that no step has are left alone). Fewer than three steps change nothing.
[[nodiscard]] Crew adapted(const Crew& crew, std::span<const StepTime> steps);

}  // namespace proofwalk::walk::route
