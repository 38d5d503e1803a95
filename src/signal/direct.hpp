// The direct sound of a take: where it ends, and its third-octave levels with their uncertainty.
#pragma once

#include <vector>

#include "signal/arrival.hpp"
#include "signal/evidence.hpp"

namespace proofwalk::signal {

struct DirectSound {
    std::vector<float> samples;   // impulse response from first_s on, an early bounce taken off where it had to be
    double first_s = 0.0;
    double clean_s = 0.0;         // undisturbed after the arrival
    double untouched_s = 0.0;     // undisturbed as it was heard, before the bounce that was taken off
    bool bounded = false;         // a reflection ends it
    double bounce_left = 0.0;     // amplitude of what may be left of a bounce that was taken off, re the direct sound; 0: none was
};

[[nodiscard]] DirectSound direct_sound(const Evidence& evidence, const Arrival& arrival, const Bands& bands);

// Levels re the reference (the caller adds the offset of calibrated ones) into direct_db, direct_u_db, gate_s and
// gate_resolves_from_hz.
void read_direct(Reading& reading, const Evidence& evidence, const Arrival& arrival, const Bands& bands);

// What reflections do that the arrival's own band could not show, common to all bands, dB.
[[nodiscard]] double unseen_level_u_db(const Arrival& arrival);

}  // namespace proofwalk::signal
