// A hang of equal boxes, one below the other, with a splay step between neighbours: how even it sounds from front to back,
// and which allowed steps make it most even. docs/formulas.md, "Line array".
#pragma once

#include <cstddef>
#include <memory>
#include <vector>

#include "acoustics/air.hpp"
#include "acoustics/directivity.hpp"
#include "units/fault.hpp"

namespace proofwalk::acoustics {

// Ears along the middle of the audience, as seen from the side.
struct Ear {
    double ahead_m = 0.0;   // along the floor from the point below the frame's front
    double height_m = 0.0;  // in the frame that trim_m is given in
    double wanted_db = 0.0;  // level wanted here, any common zero: equal figures ask for an even level
};

struct HangDesign {
    std::size_t boxes = 12;
    double box_height_m = 0.35;               // from joint to joint
    std::shared_ptr<const Directivity> box;   // its vertical arc is used
    double trim_m = 9.0;                      // height of the top of the uppermost box
    std::vector<double> allowed_splay_deg;    // between neighbours, all >= 0
    std::vector<double> allowed_tilt_deg;     // of the uppermost box (the frame); negative is down
    std::vector<Ear> ears;
    Air air;
    double low_hz = 62.5, high_hz = 16000.0;  // judged inside this; within 62.5 Hz .. 16 kHz
};

struct HangAngles {
    double tilt_deg = 0.0;             // of the uppermost box
    std::vector<double> splay_deg;     // below box 1, 2, ...: boxes - 1 of them
};

// What a hang does. Levels are coherent sums of point sources at the boxes' centres with their directivity, distance and
// air, in third octaves (the power of two lines each), re one box at 1 m on its axis.
struct HangFigures {
    std::vector<double> level_db;        // mean over the third octaves, one an ear
    std::vector<std::vector<double>> band_db;  // [ear][band]
    std::vector<double> band_hz;         // centres of those bands
    double level_spread_db = 0.0;        // standard deviation of level_db less what is wanted
    double spectrum_spread_db = 0.0;     // standard deviation of the spectra about their common one
    double unevenness_db = 0.0;          // both: root of the sum of squares; what the search makes small
    std::vector<double> box_tilt_deg;    // one a box
    std::vector<double> box_ahead_m, box_height_m;  // centres of the boxes
};

// Fault: no boxes, no ears, ears at a box, no allowed angles, a hang that touches the floor (lowest point below every ear).
[[nodiscard]] Result<HangFigures> hang_figures(const HangDesign& design, const HangAngles& angles);

// Searches the allowed angles: several smooth starts, then every single change and every pair of opposite changes as long as
// one helps, then restarts from shaken copies of the best. Deterministic. On hangs small enough to try every combination it
// came within 0.2 dB of the best one (see the tests); a larger hang has no such proof.
[[nodiscard]] Result<HangAngles> optimised_hang(const HangDesign& design);

// Tries every combination; only for small hangs (a fault above two million).
[[nodiscard]] Result<HangAngles> exhaustive_hang(const HangDesign& design);

// Boxes that are driven together, from the top: where each circuit's axis lands and where neighbours join.
struct HangCircuit {
    std::size_t first = 0, last = 0;   // boxes, from 0
    double tilt_deg = 0.0;             // mean of its boxes
    double ahead_m = 0.0, height_m = 0.0;  // middle of its boxes' centres
    std::size_t ear = 0;               // nearest to its axis
    std::size_t join_ear = 0;          // where it and the circuit below are equally loud in 2..8 kHz; unused for the last
};
[[nodiscard]] Result<std::vector<HangCircuit>> hang_circuits(const HangDesign& design, const HangAngles& angles, std::size_t boxes_per_circuit);

}  // namespace proofwalk::acoustics
