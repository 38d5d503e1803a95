#include "signal/mic_match.hpp"

#include <algorithm>
#include <cmath>

#include "units/convert.hpp"

namespace proofwalk::signal {

namespace {

constexpr double direct_from_hz = 250.0;
constexpr double stands_out_db = 10.0;
constexpr double worst_level_u_db = 2.0;  // a band heard worse than this says nothing about a mic

double middle_of(std::vector<double> values) {
    std::ranges::sort(values);
    return 0.5 * (values[(values.size() - 1) / 2] + values[values.size() / 2]);
}

struct Level {
    double db = 0.0, u_db = 0.0;
};

std::optional<Level> level_of(const Reading& reading, std::size_t band) {
    const bool direct = midband_hz(band) >= std::max(direct_from_hz, reading.gate_resolves_from_hz);
    const BandLevels& levels = direct ? reading.direct_db : reading.full_db;
    const BandLevels& u = direct ? reading.direct_u_db : reading.full_u_db;
    if (!levels.has(band) || !u.has(band) || u[band] > worst_level_u_db) return std::nullopt;
    return Level{levels[band], u[band]};
}

}  // namespace

std::vector<MicDeviation> mic_deviations(std::span<const Reading> readings, const Bands& bands, double place_u_db) {
    std::vector<MicDeviation> deviations(readings.size());
    for (std::size_t band = 0; band < band_count; ++band) {
        std::vector<double> heard;
        for (const Reading& reading : readings)
            if (const auto level = level_of(reading, band)) heard.push_back(level->db);
        if (heard.size() < 2) continue;
        const double middle = middle_of(heard);
        for (std::size_t mic = 0; mic < readings.size(); ++mic) {
            const auto level = level_of(readings[mic], band);
            if (!level) continue;
            deviations[mic].db[band] = level->db - middle;
            // The middle has an uncertainty of its own, about that of one mic over the root of their number.
            const double shared = 1.0 + 1.0 / static_cast<double>(heard.size());
            deviations[mic].u_db[band] = std::sqrt(level->u_db * level->u_db + place_u_db * place_u_db) * std::sqrt(shared);
        }
    }
    std::vector<double> aims;
    for (const Reading& reading : readings)
        if (reading.arrival_s && reading.aim_band_db) aims.push_back(reading.aim_band_db->value);
    if (aims.size() < 2) return deviations;
    const double middle = middle_of(aims);
    for (std::size_t mic = 0; mic < readings.size(); ++mic) {
        const Reading& reading = readings[mic];
        if (!reading.arrival_s || !reading.aim_band_db) continue;
        const double db = reading.aim_band_db->value - middle;
        // Reflections inside the gate are the same for all mics of one spot; noise and place are not.
        const auto [first, last] = bands_inside(bands.aim_low_hz, bands.aim_high_hz);
        const double count = std::max(1.0, static_cast<double>(last - first));
        const double u = std::hypot(place_u_db, reading.aim_band_db->u / std::sqrt(count)) * std::sqrt(1.0 + 1.0 / static_cast<double>(aims.size()));
        deviations[mic].aim_band_db = Measured{db, u};
        deviations[mic].usable = std::abs(db) <= stands_out_db;
    }
    return deviations;
}

Reading corrected(Reading reading, const MicDeviation& deviation, const Bands& bands) {
    if (!deviation.usable) return reading;
    for (std::size_t band = 0; band < band_count; ++band) {
        if (!deviation.db.has(band)) continue;
        const auto take_off = [&](BandLevels& levels, BandLevels* u) {
            if (!levels.has(band)) return;
            levels[band] -= deviation.db[band];
            if (u != nullptr && u->has(band)) (*u)[band] = std::hypot((*u)[band], deviation.u_db[band]);
        };
        take_off(reading.direct_db, &reading.direct_u_db);
        take_off(reading.full_db, &reading.full_u_db);
        take_off(reading.noise_db, nullptr);
    }
    if (!reading.aim_band_db || !deviation.aim_band_db) return reading;
    // Band by band where all bands of the aim band are known, by the one figure otherwise.
    const auto [first, last] = bands_inside(bands.aim_low_hz, bands.aim_high_hz);
    bool all_known = last > first;
    for (std::size_t band = first; band < last; ++band) all_known = all_known && (!reading.direct_db.has(band) || deviation.db.has(band));
    const double value = all_known ? power_mean_db(reading.direct_db, bands.aim_low_hz, bands.aim_high_hz)
                                   : reading.aim_band_db->value - deviation.aim_band_db->value;
    if (std::isfinite(value)) reading.aim_band_db = Measured{value, std::hypot(reading.aim_band_db->u, deviation.aim_band_db->u)};
    return reading;
}

}  // namespace proofwalk::signal
