#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>

#include "signal/arrival.hpp"
#include "signal/evidence.hpp"
#include "signal/fft.hpp"
#include "signal/gate.hpp"
#include "signal/third_octave.hpp"
#include "units/convert.hpp"

namespace proofwalk::signal {

namespace {

constexpr double db_per_relative = 20.0 / std::numbers::ln10;  // 8.69: level change of a small relative change
constexpr double longest_gate_s = 0.005;
constexpr double shortest_gate_s = 0.0005;
constexpr double periods_in_gate = 2.0;       // least length of a gate in periods of the band
constexpr double spoils_gate_db = -26.0;      // a weaker reflection does not close the gate
constexpr double smallest_level_u_db = 0.05;  // gate edges and rounding, found on synthetic rooms
constexpr double low_band_hz = 5000.0;        // an arrival read below it does not show reflections that follow closely
constexpr double unseen_reflections_u_db = 1.5;
constexpr double widest_level_u_db = 20.0;

// Offset from levels re the reference to dB SPL for the signal as played: a full-scale sine has an rms of 1/sqrt(2).
double level_offset_db(const Evidence& evidence, std::size_t band) {
    if (!evidence.calibrated) return 0.0;
    const double played = evidence.played_db.has(band) ? evidence.played_db[band] : 0.0;
    return played - amplitude_db(std::numbers::sqrt2) - amplitude_db(reference_pressure_pa);
}

// Uncertainty in dB of a level whose energy holds `share` of something incoherent with it (noise); above half it is
// hardly a level at all.
double level_u_db(double share) { return std::min(db_per_relative * std::sqrt(std::max(share, 0.0) / 2.0), widest_level_u_db); }

struct DirectGate {
    double clean_s = longest_gate_s;  // up to the first reflection that matters
    double spoiling = 0.0;            // amplitude of the first one re the direct sound
    bool bounded = false;
};

DirectGate clean_gate(const Arrival& arrival) {
    DirectGate gate;
    for (const Reflection& reflection : arrival.reflections) {
        if (reflection.level_db < spoils_gate_db) continue;
        const double until_s = reflection.after_s - 0.5 / arrival.high_hz - 0.1e-3;
        if (until_s < gate.clean_s) {
            gate.clean_s = until_s;
            gate.spoiling = amplitude_of_db(reflection.level_db);
            gate.bounded = true;
        }
    }
    gate.clean_s = std::max(gate.clean_s, shortest_gate_s);
    return gate;
}

// Amplitude of all listed reflections before `gate_s`, re the direct sound (powers added).
double inside_amplitude(const Arrival& arrival, double gate_s) {
    double power = 0.0;
    for (const Reflection& reflection : arrival.reflections)
        if (reflection.after_s < gate_s) power += power_of_db(reflection.level_db);
    return std::sqrt(power);
}

// What reflections do that the arrival's own band could not show.
double common_level_u_db(const Arrival& arrival) { return arrival.high_hz < low_band_hz ? unseen_reflections_u_db : 0.0; }

void read_direct(Reading& reading, const Evidence& evidence, const Arrival& arrival) {
    const DirectGate clean = clean_gate(arrival);
    reading.gate_resolves_from_hz = periods_in_gate / clean.clean_s;
    std::vector<float> padded;
    double last_gate_s = -1.0, last_lead_s = -1.0;
    Spectrum spectrum;
    const RealFft fft(16384);
    const double bin_hz = evidence.rate_hz / static_cast<double>(fft.size());
    for (std::size_t band = 0; band < band_count; ++band) {
        if (upper_edge_hz(band) > evidence.rate_hz / 2.0) continue;
        const double needed_s = periods_in_gate / midband_hz(band);
        const double gate_s = std::min(std::max(clean.clean_s, needed_s), 0.25);
        const double lead_s = std::max(0.3e-3, 0.25 * needed_s);
        if (gate_s != last_gate_s || lead_s != last_lead_s) {
            const double opens_s = arrival.at_s - evidence.first_s;
            spectrum = fft.forward(gated(evidence.impulse, evidence.rate_hz,
                                         {opens_s - 0.1e-3, lead_s, opens_s + gate_s}));
            last_gate_s = gate_s;
            last_lead_s = lead_s;
        }
        const double power = mean_power(spectrum, bin_hz, lower_edge_hz(band), upper_edge_hz(band));
        if (!(power > 0.0)) continue;
        reading.direct_db[band] = power_db(power) + level_offset_db(evidence, band);
        double noise_share = 0.0;
        if (evidence.noise_impulse_db.has(band))
            noise_share = power_of_db(evidence.noise_impulse_db[band]) * (0.67 * gate_s + 0.5 * lead_s) / power;
        const double freedom = std::max(1.0, 2.0 * gate_s * (upper_edge_hz(band) - lower_edge_hz(band)));
        const double noise_u = std::min(level_u_db(noise_share) / std::sqrt(freedom) * std::numbers::sqrt2, widest_level_u_db);
        const double unseen_u = common_level_u_db(arrival);
        const double room_u = gate_s > clean.clean_s ? db_per_relative * inside_amplitude(arrival, gate_s) / std::numbers::sqrt2 : 0.0;
        reading.direct_u_db[band] = std::min(std::hypot(noise_u, room_u, std::hypot(smallest_level_u_db, unseen_u)), widest_level_u_db);
    }
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
    reading.arrival_s = Measured{arrival->at_s - evidence.latency_s, arrival->u_s};
    if (arrival->polarity != 0) reading.polarity = arrival->polarity;
    reading.polarity_confidence = arrival->polarity_confidence;
    reading.reflections = arrival->reflections;

    read_direct(reading, evidence, *arrival);
    reading.gate_s = std::max(clean_gate(*arrival).clean_s, periods_in_gate / std::sqrt(bands.aim_low_hz * bands.aim_high_hz));
    const double spoiled_from_s = periods_in_gate / bands.aim_low_hz;
    if (clean_gate(*arrival).bounded && clean_gate(*arrival).clean_s < spoiled_from_s) reading.flags.raise(Flag::reflection_in_gate);
    reading.aim_band_db = aim_level(reading, bands, common_level_u_db(*arrival));
    if (reading.aim_band_db && reading.signal_to_noise_db < 6.0) reading.flags.raise(Flag::noisy);
    return reading;
}

}  // namespace proofwalk::signal
