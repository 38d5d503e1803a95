#include "signal/direct.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>

#include "signal/bounce.hpp"
#include "signal/fft.hpp"
#include "signal/gate.hpp"
#include "signal/third_octave.hpp"
#include "units/convert.hpp"

namespace proofwalk::signal {

namespace {

constexpr double db_per_relative = 20.0 / std::numbers::ln10;  // 8.69: level change of a small relative change
constexpr double longest_gate_s = 0.005;
constexpr double shortest_gate_s = 0.0003;
constexpr double longest_band_gate_s = 0.25;  // of a low band
constexpr double periods_in_gate = 2.0;       // least length of a gate in periods of the band
constexpr double spoils_gate_db = -26.0;      // a weaker reflection does not close the gate
constexpr double smallest_level_u_db = 0.02;  // gate edges, found on invented rooms
constexpr double widest_level_u_db = 20.0;
constexpr double low_band_hz = 5000.0;        // an arrival read below it does not show reflections that follow closely
constexpr double unseen_reflections_u_db = 2.0;
constexpr double sub_hz = 300.0, sub_level_u_db = 3.5;  // a sub's direct sound cannot be gated out of a room
constexpr double same_front_s = 0.15e-3;      // peaks this near to each other belong to one reflection
constexpr double bounce_left_share = 0.25;    // of a bounce's amplitude that may be left, besides what the fit shows
constexpr double before_s = 0.002, after_s = 0.006;  // piece in which a bounce is taken off

// Uncertainty in dB of a level of whose energy `share` is something incoherent with it (noise).
double level_u_db(double share) { return std::min(db_per_relative * std::sqrt(std::max(share, 0.0) / 2.0), widest_level_u_db); }

double clean_until_s(const Arrival& arrival, double after_s_of_reflection) { return after_s_of_reflection - 0.5 / arrival.high_hz - 0.1e-3; }

// The first reflection that matters, leaving out the front at `without_s`.
std::optional<Reflection> first_reflection(const Arrival& arrival, std::optional<double> without_s) {
    std::optional<Reflection> first;
    for (const Reflection& reflection : arrival.reflections) {
        if (reflection.level_db < spoils_gate_db) continue;
        if (without_s && std::abs(reflection.after_s - *without_s) < same_front_s) continue;
        if (!first || reflection.after_s < first->after_s) first = reflection;
    }
    return first;
}

// The strongest peak of the front that a first peak belongs to.
Reflection whole_front(const Arrival& arrival, Reflection first) {
    Reflection strongest = first;
    for (const Reflection& reflection : arrival.reflections)
        if (std::abs(reflection.after_s - first.after_s) < same_front_s && reflection.level_db > strongest.level_db) strongest = reflection;
    return strongest;
}

// Amplitude of all listed reflections before `gate_s`, re the direct sound (powers added).
double inside_amplitude(const Arrival& arrival, double gate_s) {
    double power = 0.0;
    for (const Reflection& reflection : arrival.reflections)
        if (reflection.after_s < gate_s) power += power_of_db(reflection.level_db);
    return std::sqrt(power);
}

// The treble alone of a short piece, in which a reflection's front stands clear.
std::vector<float> treble_of(std::span<const float> piece, double rate_hz, double from_hz) {
    const RealFft fft(fast_size(4 * piece.size()));
    Spectrum spectrum = fft.forward(piece);
    const double bin_hz = rate_hz / static_cast<double>(fft.size());
    for (std::size_t bin = 0; bin < spectrum.size(); ++bin) {
        const double x = std::clamp(static_cast<double>(bin) * bin_hz / from_hz, 0.0, 1.0);
        spectrum[bin] *= static_cast<float>(0.5 - 0.5 * std::cos(std::numbers::pi * x));
    }
    std::vector<float> treble = fft.inverse(spectrum);
    treble.resize(piece.size());
    return treble;
}

}  // namespace

double unseen_level_u_db(const Arrival& arrival) {
    if (arrival.high_hz >= low_band_hz) return 0.0;
    return arrival.high_hz < sub_hz ? sub_level_u_db : unseen_reflections_u_db;
}

DirectSound direct_sound(const Evidence& evidence, const Arrival& arrival, const Bands& bands) {
    DirectSound sound;
    sound.first_s = evidence.first_s;
    const std::optional<Reflection> first = first_reflection(arrival, std::nullopt);
    sound.clean_s = first ? std::clamp(clean_until_s(arrival, first->after_s), shortest_gate_s, longest_gate_s) : longest_gate_s;
    sound.untouched_s = sound.clean_s;
    sound.bounded = first && sound.clean_s < longest_gate_s;
    const double needed_s = periods_in_gate / bands.aim_low_hz;
    if (!sound.bounded || sound.clean_s >= needed_s || arrival.high_hz < low_band_hz) return sound;

    // The bounce follows too closely for a gate: take it off.
    const Reflection bounce = whole_front(arrival, *first);
    const double arrival_sample = (arrival.at_s - evidence.first_s) * evidence.rate_hz;
    const auto from = static_cast<std::ptrdiff_t>(arrival_sample - before_s * evidence.rate_hz);
    const auto to = static_cast<std::ptrdiff_t>(arrival_sample + after_s * evidence.rate_hz);
    if (from < 0 || to > static_cast<std::ptrdiff_t>(evidence.impulse.size())) return sound;
    const std::span<const float> piece = std::span(evidence.impulse).subspan(static_cast<std::size_t>(from), static_cast<std::size_t>(to - from));
    WithoutBounce without = without_bounce(piece, treble_of(piece, evidence.rate_hz, bands.aim_low_hz), arrival_sample - static_cast<double>(from),
                                           bounce.after_s * evidence.rate_hz, evidence.rate_hz);
    if (without.left > 0.5) return sound;
    sound.samples = std::move(without.direct);
    sound.first_s = evidence.first_s + static_cast<double>(from) / evidence.rate_hz;
    sound.bounce_left = amplitude_of_db(bounce.level_db) * std::max(std::sqrt(without.left), bounce_left_share) * bounce_left_share;
    const std::optional<Reflection> next = first_reflection(arrival, bounce.after_s);
    const double recursion_s = 3.0 * bounce.after_s;  // errors of a strong bounce grow with each return
    sound.clean_s = std::min({longest_gate_s, std::max(recursion_s, needed_s), next ? std::max(clean_until_s(arrival, next->after_s), shortest_gate_s) : longest_gate_s});
    return sound;
}

void read_direct(Reading& reading, const Evidence& evidence, const Arrival& arrival, const Bands& bands) {
    const DirectSound sound = direct_sound(evidence, arrival, bands);
    reading.gate_resolves_from_hz = periods_in_gate / sound.clean_s;
    reading.gate_s = std::max(sound.clean_s, periods_in_gate / std::sqrt(bands.aim_low_hz * bands.aim_high_hz));
    if (sound.bounded && sound.clean_s < periods_in_gate / bands.aim_low_hz) reading.flags.raise(Flag::reflection_in_gate);

    double last_gate_s = -1.0, last_lead_s = -1.0;
    Spectrum spectrum;
    const RealFft fft(std::max<std::size_t>(16384, fast_size(static_cast<std::size_t>((longest_band_gate_s * 1.25 + 0.002) * evidence.rate_hz))));
    const double bin_hz = evidence.rate_hz / static_cast<double>(fft.size());
    for (std::size_t band = 0; band < band_count; ++band) {
        if (upper_edge_hz(band) > evidence.rate_hz / 2.0) continue;
        const double needed_s = periods_in_gate / midband_hz(band);
        // What the bounce's front leaves untouched is surer than what is left once the bounce is taken off.
        const bool untouched = !sound.samples.empty() && needed_s <= sound.untouched_s;
        const double clean_s = untouched ? sound.untouched_s : sound.clean_s;
        const double gate_s = std::min(std::max(clean_s, needed_s), longest_band_gate_s);
        const double lead_s = std::max(0.3e-3, 0.25 * needed_s);
        // Bands whose gate is longer than the piece without the bounce are cut from the response as it was heard.
        const bool without = !untouched && !sound.samples.empty() && gate_s < after_s - 0.5e-3 && lead_s < before_s - 0.2e-3;
        if (gate_s != last_gate_s || lead_s != last_lead_s) {
            const double opens_s = arrival.at_s - (without ? sound.first_s : evidence.first_s);
            spectrum = fft.forward(gated(without ? std::span<const float>(sound.samples) : std::span<const float>(evidence.impulse), evidence.rate_hz,
                                         {opens_s - 0.1e-3, lead_s, opens_s + gate_s}));
            last_gate_s = gate_s;
            last_lead_s = lead_s;
        }
        const double power = mean_power(spectrum, bin_hz, lower_edge_hz(band), upper_edge_hz(band));
        if (!(power > 0.0)) continue;
        reading.direct_db[band] = power_db(power);
        double noise_share = 0.0;
        if (evidence.noise_impulse_db.has(band)) noise_share = power_of_db(evidence.noise_impulse_db[band]) * (0.67 * gate_s + 0.5 * lead_s) / power;
        const double freedom = std::max(1.0, 2.0 * gate_s * (upper_edge_hz(band) - lower_edge_hz(band)));
        const double noise_u = std::min(level_u_db(noise_share) / std::sqrt(freedom) * std::numbers::sqrt2, widest_level_u_db);
        double room_amplitude = gate_s > clean_s ? inside_amplitude(arrival, gate_s) : 0.0;
        if (without) room_amplitude = std::hypot(gate_s > sound.clean_s ? inside_amplitude(arrival, gate_s) * bounce_left_share : 0.0, sound.bounce_left);
        const double room_u = db_per_relative * room_amplitude / std::numbers::sqrt2;
        reading.direct_u_db[band] = std::min(std::hypot(std::hypot(noise_u, room_u), smallest_level_u_db, unseen_level_u_db(arrival)), widest_level_u_db);
    }
}

}  // namespace proofwalk::signal
