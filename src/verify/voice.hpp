// One circuit as evidence of a box's response: how far each third octave is off the planned shape.
//
// Above the frequency that the gate resolves the direct sound on the axis counts, against the planned shape. Below it the
// room can't be gated out: full sound is what the box radiates over distance plus a reverberant part that is the same all
// over the room, so readings at different distances, of all boxes of the model, tell the two apart.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "verify/case_file.hpp"

namespace proofwalk::verify {

// Deviation from the planned shape in each band of the box's range, dB, mean not taken out.
struct Shape {
    BandLevels db, u_db;
    std::array<bool, band_count> resolved{};  // by the gate
};

struct Voice {
    const plan::Box* box = nullptr;
    std::string circuit;  // whose takes they are
    const TakenReading* on_axis = nullptr;
    Shape direct;               // on the axis against the planned shape, in the bands that the gate resolves
    double audible_db = -1e9;   // re the planned level: what the noise drowns is no evidence but below it
};

// Nothing where it was not heard on the axis of the box.
[[nodiscard]] std::optional<Voice> voice_of(const CaseFile& file, const plan::Box& box, const std::string& circuit);

// Deviation of a box from its siblings, or from its model when there are none.
[[nodiscard]] Shape deviation(const CaseFile& file, const Voice& own, const std::vector<Voice>& others);

}  // namespace proofwalk::verify
