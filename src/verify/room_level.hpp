// The room's share of full sound where no gate can part it from the direct sound: found in the bands that the gate resolves,
// where both are measured, and carried down to those that it does not.
#pragma once

#include <optional>
#include <string>

#include "verify/case_file.hpp"

namespace proofwalk::verify {

// Mean over all directions of what a model radiates at a frequency, power re its axis (1: the same all around).
[[nodiscard]] double radiated_power(const plan::Model& model, double frequency_hz);

// Reverberant level at any place re the direct sound at 1 m, dB, of a source that radiates its axis level all around, as the
// bands that the gate resolves have it; carried on to a third-octave band below them.
struct RoomLevel {
    double told_db = 0.0, told_octave = 0.0;  // octave: log2 of the middle frequency of the bands that told it
    [[nodiscard]] double in_band_db(std::size_t band) const;
};
// Nothing where no take tells it.
[[nodiscard]] std::optional<RoomLevel> room_level(const CaseFile& file, const plan::Box& box, const std::string& circuit);

}  // namespace proofwalk::verify
