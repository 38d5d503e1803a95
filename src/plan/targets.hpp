// What each position should hear of each circuit: the figures that the walk compares with.
#pragma once

#include <string>
#include <vector>

#include "plan/plan.hpp"
#include "units/bands.hpp"

namespace proofwalk::plan {

// One box heard at one position.
struct Target {
    std::string circuit, box, position;
    acoustics::Bearing bearing;
    double travel_s = 0.0;    // distance over the speed of sound
    double arrival_s = 0.0;   // travel + planned delay + model and drive latency (0 where not planned)
    double loss_db = 0.0;     // directivity in the aim band
    double air_db = 0.0;      // air absorption in the aim band, negative
    // Aim-band direct level re the model's own 1 m on-axis level at gain 0 (dB): gain + distance + loss + air;
    // plus level_1m_db where the model has it.
    double aim_band_db = 0.0;
    BandLevels shape_db;      // the same per third octave inside range_hz
    bool serves = false;      // the position serves this box in some role
};

// `air`: as measured on site where it is, else the plan's.
[[nodiscard]] Target target(const Plan& plan, const Box& box, const Position& position, const acoustics::Air& air);
[[nodiscard]] std::vector<Target> targets(const Plan& plan, const acoustics::Air& air);

// Loss (negative dB) of distance and air for a path, at a frequency and as power mean over a band.
[[nodiscard]] double path_loss_db(double distance_m, const acoustics::Air& air, double frequency_hz);
[[nodiscard]] double path_loss_db(double distance_m, const acoustics::Air& air, Band band);

}  // namespace proofwalk::plan
