#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>

#include "signal/arrival.hpp"
#include "signal/evidence.hpp"
#include "signal/direct.hpp"
#include "signal/fft.hpp"
#include "signal/third_octave.hpp"
#include "units/convert.hpp"

namespace proofwalk::signal {

namespace {

constexpr double db_per_relative = 20.0 / std::numbers::ln10;  // 8.69: level change of a small relative change
constexpr double smallest_level_u_db = 0.018;  // rounding and band edges
constexpr double widest_level_u_db = 20.0;
// Of an arrival whose clock drift was taken off, and of one whose drift is seen but not settled; see clock_drift.hpp.
constexpr double drift_u_s = 20e-6, unsettled_drift_u_s = 250e-6;

// Offset from levels re the reference to dB SPL for the signal as played: a full-scale sine has an rms of 1/sqrt(2).
double level_offset_db(const Evidence& evidence, std::size_t band) {
    if (!evidence.calibrated) return 0.0;
    const double played = evidence.played_db.has(band) ? evidence.played_db[band] : 0.0;
    return played - amplitude_db(std::numbers::sqrt2) - amplitude_db(reference_pressure_pa);
}

void read_full(Reading& reading, const Evidence& evidence) {
    const RealFft fft(fast_size(evidence.impulse.size()));
    const Spectrum spectrum = fft.forward(evidence.impulse);
    const BandLevels levels = mean_levels(spectrum, evidence.rate_hz / static_cast<double>(fft.size()));
    const double length_s = static_cast<double>(evidence.impulse.size()) / evidence.rate_hz;
    for (std::size_t band = 0; band < band_count; ++band) {
        if (!levels.has(band)) continue;
        double power = power_of_db(levels[band]);
        double noise_power = 0.0;
        if (evidence.noise_impulse_db.has(band)) noise_power = power_of_db(evidence.noise_impulse_db[band]) * length_s;
        // What the noise adds on average is taken off, down to a tenth of the sum.
        power = std::max(power - noise_power, 0.1 * power);
        reading.full_db[band] = power_db(power) + level_offset_db(evidence, band);
        const double freedom = std::max(1.0, 2.0 * length_s * (upper_edge_hz(band) - lower_edge_hz(band)));
        const double share = noise_power / power;
        reading.full_u_db[band] =
            std::min(std::hypot(db_per_relative * std::sqrt((2.0 * share + share * share) / freedom), smallest_level_u_db), widest_level_u_db);
    }
}

// Power mean of the direct levels over the aim band and its uncertainty (band errors independent, common floor kept).
std::optional<Measured> aim_level(const Reading& reading, const Bands& bands, double common_u_db) {
    const auto [first, last] = bands_inside(bands.aim_low_hz, bands.aim_high_hz);
    double sum = 0.0, variance = 0.0;
    int count = 0;
    for (std::size_t band = first; band < last; ++band) {
        if (!reading.direct_db.has(band)) continue;
        const double power = power_of_db(reading.direct_db[band]);
        sum += power;
        variance += std::pow(power * reading.direct_u_db[band], 2);
        ++count;
    }
    if (count == 0 || !(sum > 0.0)) return std::nullopt;
    return Measured{power_db(sum / count), std::hypot(std::sqrt(variance) / sum, smallest_level_u_db, common_u_db)};
}

double aim_signal_to_noise(const Reading& reading, const Bands& bands) {
    const auto [first, last] = bands_inside(bands.aim_low_hz, bands.aim_high_hz);
    double signal = 0.0, noise = 0.0;
    for (std::size_t band = first; band < last; ++band) {
        if (!reading.full_db.has(band) || !reading.noise_db.has(band)) continue;
        signal += power_of_db(reading.full_db[band]);
        noise += power_of_db(reading.noise_db[band]);
    }
    return noise > 0.0 && signal > 0.0 ? power_db(signal / noise) : 0.0;
}

}  // namespace

Reading read(const Evidence& evidence, const Bands& bands) {
    Reading reading;
    reading.absolute = evidence.absolute;
    reading.calibrated = evidence.calibrated;
    reading.coherence = evidence.coherence;
    reading.drift_ppm = evidence.drift_ppm;
    reading.distortion2_pct = evidence.distortion2_pct;
    reading.distortion3_pct = evidence.distortion3_pct;
    reading.flags = evidence.flags;
    for (std::size_t band = 0; band < band_count; ++band)
        if (evidence.noise_db.has(band)) reading.noise_db[band] = evidence.noise_db[band] + level_offset_db(evidence, band);
    if (!evidence.absolute) reading.flags.raise(Flag::no_reference);
    if (evidence.impulse.empty()) return reading;

    read_full(reading, evidence);
    reading.signal_to_noise_db = aim_signal_to_noise(reading, bands);

    const std::optional<Arrival> arrival = first_arrival(evidence, bands);
    if (!arrival) {
        reading.flags.raise(Flag::no_signal);
        return reading;
    }
    if (!arrival->certain) {
        reading.flags.raise(Flag::weak_arrival);
        return reading;
    }
    if (arrival->weak) reading.flags.raise(Flag::weak_arrival);
    reading.arrival_s = Measured{arrival->at_s - evidence.latency_s, arrival->u_s};
    if (arrival->polarity != 0) reading.polarity = arrival->polarity;
    reading.polarity_confidence = arrival->polarity_confidence;
    if (evidence.flags.has(Flag::clock_drift)) {
        reading.arrival_s->u = std::hypot(reading.arrival_s->u, evidence.drift_ppm ? drift_u_s : unsettled_drift_u_s);
        // Not settled: another figure fits nearly as well, with the other polarity.
        if (!evidence.drift_ppm) {
            reading.polarity.reset();
            reading.polarity_confidence = 0.5;
        }
    }
    reading.reflections = arrival->reflections;

    read_direct(reading, evidence, *arrival, bands);
    for (std::size_t band = 0; band < band_count; ++band)
        if (reading.direct_db.has(band)) reading.direct_db[band] += level_offset_db(evidence, band);
    reading.aim_band_db = aim_level(reading, bands, unseen_level_u_db(*arrival));
    if (reading.aim_band_db && reading.signal_to_noise_db < 6.0) reading.flags.raise(Flag::noisy);
    return reading;
}

}  // namespace proofwalk::signal
