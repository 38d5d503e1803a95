#include "signal/weighting.hpp"

#include <cmath>
#include <limits>

#include "units/convert.hpp"

namespace proofwalk::signal {

namespace {

// Poles in Hz: C falls 3 dB at 10^1.5 and 10^3.9 Hz, A adds two at 10^2.45 Hz; values of the annex.
constexpr double f1 = 20.598997, f2 = 107.65265, f3 = 737.86223, f4 = 12194.217;
constexpr double acceptable_drift_db = 0.5;

double c_raw(double f) { return amplitude_db(f4 * f4 * f * f / ((f * f + f1 * f1) * (f * f + f4 * f4))); }
double a_raw(double f) { return c_raw(f) + amplitude_db(f * f / (std::sqrt(f * f + f2 * f2) * std::sqrt(f * f + f3 * f3))); }

}  // namespace

double weighting_db(Weighting weighting, double frequency_hz) {
    switch (weighting) {
        case Weighting::a: return a_raw(frequency_hz) - a_raw(1000.0);
        case Weighting::c: return c_raw(frequency_hz) - c_raw(1000.0);
        case Weighting::z: break;
    }
    return 0.0;
}

double weighted_sum_db(const BandLevels& levels, Weighting weighting) {
    double sum = 0.0;
    for (std::size_t band = 0; band < band_count; ++band)
        if (levels.has(band)) sum += power_of_db(levels[band] + weighting_db(weighting, midband_hz(band)));
    return sum > 0.0 ? power_db(sum) : std::numeric_limits<double>::quiet_NaN();
}

std::optional<double> sound_pressure_level_db(const Reading& reading, Weighting weighting) {
    if (!reading.calibrated) return std::nullopt;
    const double level = weighted_sum_db(reading.full_db, weighting);
    return std::isfinite(level) ? std::optional(level) : std::nullopt;
}

double spl_db(double pascal_rms) { return amplitude_db(pascal_rms / reference_pressure_pa); }

CalibratorDrift calibrator_drift(double pascal_per_fs_at_start, double pascal_per_fs_at_end) {
    // Fewer pascals per sample value at the end: the mic reads more.
    const double drift_db = amplitude_db(pascal_per_fs_at_start / pascal_per_fs_at_end);
    return {drift_db, std::abs(drift_db) <= acceptable_drift_db};
}

}  // namespace proofwalk::signal
