// What a position hears of everything together.
#pragma once

#include <string>
#include <vector>

#include "plan/plan.hpp"
#include "plan/targets.hpp"
#include "units/bands.hpp"

namespace proofwalk::plan {

// A box heard at a position, against the loudest one there.
struct Heard {
    std::string box, circuit;
    double aim_band_db = 0.0;       // re the loudest, 0 or negative
    double arrival_ms = 0.0;        // after that of the loudest
};
// Loudest first; boxes more than `audible_db` below it are left out. Levels of models whose level at 1 m is not given are
// compared as if it were alike.
[[nodiscard]] std::vector<Heard> heard_at(const Plan& plan, const Position& position, const acoustics::Air& air, double audible_db = 20.0);

// How long after the direct sound the bounce from the floor arrives, seconds; the floor lies `ear_height_m` below the
// position.
[[nodiscard]] double floor_bounce_s(const Box& box, const Position& position, const acoustics::Air& air, double ear_height_m = 1.2);

// Of each reflection so long after the direct sound of a box, the surface that it likely came from: the area whose floor gives
// a way so much longer (its plane lowered by the ear height, within its edges), or "floor" under a position where the plan
// has no areas. Each surface is given to the reflection that fits it best; empty where nothing in the plan fits.
[[nodiscard]] std::vector<std::string> likely_surfaces(const Plan& plan, const Box& box, const Position& position, const acoustics::Air& air,
                                                       const std::vector<double>& after_s, double ear_height_m = 1.2);

// Both boxes together in third octaves: coherent sum with the planned arrivals, power mean inside the band, re the same zero
// as their targets; and the power sum without regard to time. Bands that neither plays are absent.
struct Together {
    BandLevels coherent_db, power_db;
    double apart_ms = 0.0;  // second after first
};
[[nodiscard]] Together together(const Plan& plan, const Box& first, const Box& second, const Position& position, const acoustics::Air& air);

}  // namespace proofwalk::plan
