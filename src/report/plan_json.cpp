// proofwalk.targets/1: what a plan expects of every circuit at every position, and the checks that follow.
#include "report/json.hpp"
#include "report/report.hpp"

namespace proofwalk::report {
namespace {

Json point(const Vec3& at) { return Json::array({number(at.x), number(at.y), number(at.z)}); }
Json band(const plan::Band& band) { return Json::array({number(band.low_hz), number(band.high_hz)}); }

Json box_json(const plan::Box& box) {
    return {{"box", box.id},
            {"model", box.model},
            {"circuit", box.circuit},
            {"at", point(box.at)},
            {"pan_deg", number(box.pan_deg)},
            {"tilt_deg", number(box.tilt_deg)},
            {"gain_db", number(box.gain_db)},
            {"delay_ms", number(box.delay_ms)},
            {"inverted", box.inverted},
            {"output", box.output ? Json(*box.output) : Json(nullptr)},
            {"patch", box.patch}};
}

Json position_json(const plan::Position& position) {
    Json serves = Json::array();
    for (const auto& serve : position.serves)
        serves.push_back({{"role", word(serve.role)}, {"boxes", serve.boxes}});
    return {{"position", position.id}, {"at", point(position.at)}, {"serves", std::move(serves)}};
}

Json target_json(const plan::Target& target) {
    Json shape = Json::array();
    for (std::size_t i = 0; i < band_count; ++i) shape.push_back(number(target.shape_db[i]));
    return {{"circuit", target.circuit},
            {"box", target.box},
            {"position", target.position},
            {"serves", target.serves},
            {"distance_m", number(target.bearing.distance_m)},
            {"off_axis_h_deg", number(target.bearing.h_deg)},
            {"off_axis_v_deg", number(target.bearing.v_deg)},
            {"travel_ms", number(target.travel_s * 1e3)},
            {"arrival_ms", number(target.arrival_s * 1e3)},
            {"loss_db", number(target.loss_db)},
            {"air_db", number(target.air_db)},
            {"aim_band_db", number(target.aim_band_db)},
            {"shape_db", std::move(shape)}};
}

Json check_json(const plan::PlannedCheck& check) {
    return {{"check", word(check.kind)},
            {"subject", check.subject},
            {"boxes", check.boxes},
            {"circuits", check.circuits},
            {"positions", check.positions},
            {"array", check.array},
            {"band_hz", band(check.band_hz)}};
}

}  // namespace

std::string plan_json(const plan::Plan& plan, const std::string& sha256, const std::vector<plan::Target>& targets,
                      const std::vector<plan::PlannedCheck>& checks) {
    Json json = {{"format", "proofwalk.targets/1"},
                 {"plan", {{"name", plan.name}, {"sha256", sha256}}},
                 {"air",
                  {{"temperature_c", number(plan.air.temperature_c)},
                   {"humidity_pct", number(plan.air.humidity_pct)},
                   {"pressure_kpa", number(plan.air.pressure_kpa)}}},
                 {"bands_hz", nominal_hz}};
    for (const char* list : {"boxes", "positions", "targets", "checks"}) json[list] = Json::array();
    for (const auto& box : plan.boxes) json["boxes"].push_back(box_json(box));
    for (const auto& position : plan.positions) json["positions"].push_back(position_json(position));
    for (const auto& target : targets) json["targets"].push_back(target_json(target));
    for (const auto& check : checks) json["checks"].push_back(check_json(check));
    return dumped(json);
}

}  // namespace proofwalk::report
