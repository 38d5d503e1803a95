// Several mics at one spot hear the same sound: what each adds of its own is found once and taken off later readings.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "signal/evidence.hpp"

namespace proofwalk::signal {

// Deviation of one mic from the middle of all mics of a match take; positive: this mic reads too much.
struct MicDeviation {
    BandLevels db, u_db;                    // third octaves; absent where a mic heard too little
    std::optional<Measured> aim_band_db;    // power mean over the aim band, at the spectrum of the match take
    bool usable = false;                    // false: this mic heard nothing certain, or stands out by more than 10 dB
};

// readings: one a mic, all of one match take of one circuit, mics within a few centimetres of each other.
// The middle is the median per band (mean of the inner two for an even number); two mics share their difference evenly.
// Full levels count below 250 Hz and where the gate does not resolve, direct levels above. u_db holds the noise of both
// and place_u_db for mics that cannot stand in one point; 0.15 dB is common practice for capsules 2 cm apart (no source).
// Fewer than two usable mics: nothing is usable.
[[nodiscard]] std::vector<MicDeviation> mic_deviations(std::span<const Reading> readings, const Bands& bands, double place_u_db = 0.15);

// The reading as a mic without that deviation would have given it: levels down by the deviation, uncertainties combined.
// Levels in bands without a deviation keep their value; arrival and polarity are untouched.
[[nodiscard]] Reading corrected(Reading reading, const MicDeviation& deviation, const Bands& bands);

}  // namespace proofwalk::signal
