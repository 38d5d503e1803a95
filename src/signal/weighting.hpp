// Frequency weightings of IEC 61672-1:2013 (annex E, poles from its defining frequencies), sound pressure levels, and how
// far a calibrator's reading moved.
#pragma once

#include <optional>

#include "signal/evidence.hpp"
#include "units/bands.hpp"

namespace proofwalk::signal {

enum class Weighting { a, c, z };

// dB at a frequency above 0 Hz; 0 at 1 kHz (A and C within 0.001 dB).
[[nodiscard]] double weighting_db(Weighting weighting, double frequency_hz);

// Sum of third-octave levels with a weighting taken at the exact midbands; NaN when no band is present.
[[nodiscard]] double weighted_sum_db(const BandLevels& levels, Weighting weighting);

// SPL of the signal as it was played, from a calibrated reading (full sound). Nothing when it is not calibrated.
[[nodiscard]] std::optional<double> sound_pressure_level_db(const Reading& reading, Weighting weighting);

// SPL of an rms pressure, dB re 20 uPa (ISO 1683).
[[nodiscard]] double spl_db(double pascal_rms);

// Two calibrator takes of one mic, at the start and the end of a walk: how much more (dB) the mic reads at the end.
// Common practice accepts up to 0.5 dB (no standard).
struct CalibratorDrift {
    double drift_db = 0.0;
    bool acceptable = false;
};
[[nodiscard]] CalibratorDrift calibrator_drift(double pascal_per_fs_at_start, double pascal_per_fs_at_end);

}  // namespace proofwalk::signal
