// proofwalk.readings/1
#include "report/json.hpp"
#include "report/json_objects.hpp"
#include "report/reading_rows.hpp"
#include "report/report.hpp"

namespace proofwalk::report {
namespace {

Json bands_json(const BandLevels& levels) {
    Json array = Json::array();
    for (std::size_t band = 0; band < band_count; ++band) array.push_back(number(levels[band]));
    return array;
}

bool any_band(const BandLevels& levels) {
    for (std::size_t band = 0; band < band_count; ++band)
        if (levels.has(band)) return true;
    return false;
}

Json milliseconds(std::optional<double> seconds) {
    return seconds ? number(*seconds * 1e3) : Json(nullptr);
}

Json row_json(const ReadingRow& row, std::optional<double> within_take_s) {
    const auto& [take, circuit, mic, position, reading] = row.taken;
    std::optional<double> absolute_s, u_s, aim_db, aim_u_db;
    if (reading.arrival_s) {
        if (reading.absolute) absolute_s = reading.arrival_s->value;
        u_s = reading.arrival_s->u;
    }
    if (reading.aim_band_db) {
        aim_db = reading.aim_band_db->value;
        aim_u_db = reading.aim_band_db->u;
    }
    return {{"take", take},
            {"circuit", circuit},
            {"mic", mic},
            {"position", position},
            {"arrival_ms", milliseconds(absolute_s)},
            {"arrival_relative_ms", milliseconds(within_take_s)},
            {"arrival_u_ms", milliseconds(u_s)},
            {"distance_m", number(row.distance_m)},
            {"polarity", reading.polarity ? Json(*reading.polarity) : Json(nullptr)},
            {"polarity_confidence", reading.polarity ? number(reading.polarity_confidence) : Json(nullptr)},
            {"level_reference", level_reference(reading)},
            {"bands_hz", nominal_hz},
            {"direct_db", bands_json(reading.direct_db)},
            {"direct_u_db", bands_json(reading.direct_u_db)},
            {"full_db", bands_json(reading.full_db)},
            {"full_u_db", bands_json(reading.full_u_db)},
            {"noise_db", bands_json(reading.noise_db)},
            {"aim_band_db", number(aim_db)},
            {"aim_band_u_db", number(aim_u_db)},
            {"coherence", any_band(reading.coherence) ? bands_json(reading.coherence) : Json(nullptr)},
            {"signal_to_noise_db", number(reading.signal_to_noise_db)},
            {"gate_ms", number(reading.gate_s * 1e3)},
            {"gate_resolves_from_hz", number(reading.gate_resolves_from_hz)},
            {"reflections", reflections_object(reading.reflections, row.surfaces)},
            {"drift_ppm", number(reading.drift_ppm)},
            {"distortion2_pct", number(reading.distortion2_pct)},
            {"distortion3_pct", number(reading.distortion3_pct)},
            {"flags", words(reading.flags)},
            {"retired", row.retired}};
}

}  // namespace

Json reflections_object(const std::vector<signal::Reflection>& reflections, const std::vector<std::string>& surfaces) {
    Json array = Json::array();
    for (std::size_t i = 0; i < reflections.size(); ++i) {
        const bool known = i < surfaces.size() && !surfaces[i].empty();
        array.push_back({{"after_ms", number(reflections[i].after_s * 1e3)}, {"level_db", number(reflections[i].level_db)},
                         {"surface", known ? Json(surfaces[i]) : Json(nullptr)}});
    }
    return array;
}

Json readings_object(const std::vector<ReadingRow>& rows) {
    const auto within_takes_s = arrivals_within_takes_s(rows);
    Json json = {{"format", "proofwalk.readings/1"}};
    json["readings"] = Json::array();
    for (std::size_t i = 0; i < rows.size(); ++i) json["readings"].push_back(row_json(rows[i], within_takes_s[i]));
    return json;
}

std::string readings_json(const std::vector<ReadingRow>& rows) { return dumped(readings_object(rows)); }

}  // namespace proofwalk::report
