// What one take proved about one circuit at one mic, before any judgement: everything a figure is later computed from.
// Evidence is stored in the log; readings are recomputed from it at any time.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "units/bands.hpp"
#include "units/fault.hpp"
#include "units/flags.hpp"
#include "units/measured.hpp"

namespace proofwalk::signal {

struct Evidence {
    double rate_hz = 48000.0;
    // Impulse response from reference to mic: sample n stands at first_s + n / rate_hz after the signal left the tool.
    // Amplitude 1.0 is 0 dB re the reference channel (or pascals per unit of reference when calibrated).
    std::vector<float> impulse;
    double first_s = 0.0;
    bool absolute = true;     // false: no reference channel, so first_s counts from an unknown moment common to the take
    bool calibrated = false;  // true: levels are dB SPL for the signal as played, see played_db
    double latency_s = 0.0;   // the mic's own latency, to be taken off the arrival
    // Third-octave noise at the mic over the same third-octave level of the reference while it plays, in dB: on the
    // scale of direct and full levels, so full - noise is the band signal-to-noise ratio at the mic.
    BandLevels noise_db;
    // Third-octave noise power density inside `impulse`: expected noise energy per second of gate, in dB on the scale
    // of band levels (a gate of g seconds holds noise_impulse_db + 10 lg g).
    BandLevels noise_impulse_db;
    BandLevels played_db;     // third-octave level of the signal as played, dB re full-scale sine; for SPL
    BandLevels coherence;     // 0..1 per band, noise takes only
    std::optional<double> drift_ppm;  // clock of the mic against the reference, where it was estimated
    std::optional<double> distortion2_pct, distortion3_pct;  // in the aim band, sweeps only
    Flags flags;
};

// A compact, versioned byte form for the log; unpack refuses bytes that it did not make.
[[nodiscard]] std::vector<std::byte> pack(const Evidence& evidence);
[[nodiscard]] Result<Evidence> unpack(std::span<const std::byte> bytes);

// A listed early reflection: time after the first arrival and level re the direct sound.
struct Reflection {
    double after_s = 0.0;
    double level_db = 0.0;
};

// Which bands matter for the circuit that sounds.
struct Bands {
    double aim_low_hz = 2000.0, aim_high_hz = 8000.0;
    double range_low_hz = 60.0, range_high_hz = 18000.0;
    // Where the first arrival is to be expected (from plan geometry), seconds after the reference; absent: anywhere.
    std::optional<double> expected_arrival_s;
};

// Figures of one mic hearing one circuit in one take. Levels are dB re the reference channel unless calibrated.
struct Reading {
    // First arrival of the sound in the box's own band, seconds after the signal left the tool (absolute) or after the
    // earliest arrival of the take (not absolute); mic latency already taken off. Absent when nothing certain is heard.
    std::optional<Measured> arrival_s;
    bool absolute = true;
    std::optional<int> polarity;      // +1 or -1 by the first excursion; absent: cannot tell
    double polarity_confidence = 0.0; // 0..1, probability that `polarity` is right
    BandLevels direct_db, direct_u_db;  // gated direct sound and its standard uncertainty (noise and room inside the gate)
    BandLevels full_db, full_u_db;      // the whole response
    BandLevels noise_db;                // see Evidence
    BandLevels coherence;
    std::optional<Measured> aim_band_db;  // direct sound, power mean over the aim band
    double gate_s = 0.0;                // length of the gate after the arrival in the aim band
    double gate_resolves_from_hz = 0.0; // below it direct_db is not resolved and full_db counts
    double signal_to_noise_db = 0.0;    // in the aim band, at the mic
    std::optional<double> drift_ppm, distortion2_pct, distortion3_pct;
    std::vector<Reflection> reflections;
    bool calibrated = false;
    Flags flags;
};

// Pure: the same evidence and bands give the same reading, to the bit.
[[nodiscard]] Reading read(const Evidence& evidence, const Bands& bands);

// Deviation of magnitude re smooth, for drawing: 1/n-octave smoothed level at the given frequencies.
struct Curve {
    std::vector<double> hz;
    std::vector<double> db;
    std::vector<double> u_db;
};
[[nodiscard]] Curve magnitude_curve(const Evidence& evidence, const Reading& reading, double fraction_of_octave);

}  // namespace proofwalk::signal
