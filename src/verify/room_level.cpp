#include "verify/room_level.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "units/convert.hpp"

namespace proofwalk::verify {
namespace {

constexpr double covered_loss_db = -10.0;  // a pattern is trusted no farther
constexpr double highest_hz = 5000.0;      // above it air takes part of the reverberant sound
constexpr double least_excess_db = 0.5;    // full over direct sound: less tells nothing of the room
// Walls take less of the bass than of the treble, common practice, no source.
constexpr double rise_db_per_octave = 0.25;
constexpr double clear_of_noise_db = 10.0;

}  // namespace

double radiated_power(const plan::Model& model, double frequency_hz) {
    if (model.pattern == plan::Pattern::omni) return 1.0;
    constexpr int step_deg = 15;
    double power = 0.0, weights = 0.0;
    for (int v = -90 + step_deg / 2; v < 90; v += step_deg)
        for (int h = -180; h < 180; h += step_deg) {
            const double weight = std::cos(radians(v));
            power += weight * power_of_db(model.pattern_loss->loss_db(h, v, frequency_hz));
            weights += weight;
        }
    return power / weights;
}

double RoomLevel::in_band_db(std::size_t band) const {
    return told_db + rise_db_per_octave * std::max(0.0, told_octave - std::log2(midband_hz(band)));
}

std::optional<RoomLevel> room_level(const CaseFile& file, const plan::Box& box, const std::string& circuit) {
    const plan::Model& model = file.input.plan.model_of(box);
    std::vector<double> radiated(band_count, 0.0);
    std::vector<double> levels, octaves;
    for (const TakenReading* taken : file.readings) {
        const signal::Reading& reading = taken->reading;
        if (taken->circuit != circuit || reading.flags.has(Flag::no_signal)) continue;
        const auto seen = acoustics::bearing(box.pose(), file.input.plan.position(taken->position)->at);
        for (std::size_t b = 0; b < band_count; ++b) {
            if (lower_edge_hz(b) < reading.gate_resolves_from_hz || midband_hz(b) > highest_hz) continue;
            if (!reading.direct_db.has(b) || !reading.full_db.has(b)) continue;
            if (reading.noise_db.has(b) && reading.direct_db[b] < reading.noise_db[b] + clear_of_noise_db) continue;
            const double excess_db = reading.full_db[b] - reading.direct_db[b];
            const double loss_db = model.pattern_loss->loss_db(seen.h_deg, seen.v_deg, midband_hz(b));
            if (excess_db < least_excess_db || loss_db < covered_loss_db) continue;
            if (radiated[b] == 0.0) radiated[b] = radiated_power(model, midband_hz(b));
            const double room = (power_of_db(excess_db) - 1.0) * power_of_db(loss_db) / (seen.distance_m * seen.distance_m);
            levels.push_back(power_db(room / radiated[b]));
            octaves.push_back(std::log2(midband_hz(b)));
        }
    }
    if (levels.empty()) return std::nullopt;
    return RoomLevel{median(std::move(levels)), median(std::move(octaves))};
}

}  // namespace proofwalk::verify
