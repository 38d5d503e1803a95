// The hall around the rig: a box-shaped room that is large enough for all that the plan names, its mirror images to the
// second order and its reverberation. docs/rehearsal.md, "The hall".
#pragma once

#include <vector>

#include "plan/plan.hpp"

namespace proofwalk::rehearsal {

// One way from a source to a mic.
struct Path {
    double length_m = 0.0;
    Vec3 leaving;  // direction in which the sound leaves the source, not normalised
    int floor_hits = 0, ceiling_hits = 0, wall_hits = 0;
};

class Hall {
public:
    // `open_air`: no surfaces at all.
    Hall(const plan::Plan& plan, double decay_s, bool open_air);

    // The direct path first, then mirror images of the first and second order.
    [[nodiscard]] std::vector<Path> paths(Vec3 source, Vec3 mic) const;
    // Level of all bounces of a path at a frequency, dB.
    [[nodiscard]] static double bounce_db(const Path& path, double frequency_hz);

    [[nodiscard]] bool open_air() const { return open_air_; }
    [[nodiscard]] double decay_s() const { return decay_s_; }
    // Energy of the reverberant field over that of the direct sound at 1 m, for a source of this directivity factor.
    [[nodiscard]] double reverberant_energy(double directivity_factor) const;
    [[nodiscard]] double mean_free_path_m() const;

private:
    Vec3 low_, high_;
    double decay_s_;
    bool open_air_;
};

}  // namespace proofwalk::rehearsal
