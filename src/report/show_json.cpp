// proofwalk.show/1: the whole page for programs.
#include "report/json_objects.hpp"

namespace proofwalk::report {
namespace {

Json numbers(const std::vector<double>& values) {
    Json array = Json::array();
    for (const double value : values) array.push_back(number(value));
    return array;
}

Json curve_json(const signal::Curve& curve) {
    return {{"hz", numbers(curve.hz)}, {"db", numbers(curve.db)}, {"u_db", numbers(curve.u_db)}};
}

Json curves_json(const BoxCurves& curves) {
    return {{"box", curves.box},
            {"position", curves.position},
            {"take", curves.take},
            {"measured", curve_json(curves.measured)},
            {"planned", curve_json(curves.planned)},
            {"impulse_s", numbers(curves.impulse_s)},
            {"impulse_db", numbers(curves.impulse_db)},
            {"arrival_ms", number(curves.arrival_s * 1e3)},
            {"gate_end_ms", number(curves.gate_end_s * 1e3)},
            {"reflections", reflections_object(curves.reflections, curves.surfaces)}};
}

Json sign_off_json(const SignLine& line) {
    return {{"who", line.who},   {"role", line.role},   {"when", line.when},
            {"hash", line.hash}, {"exceptions", line.exceptions}, {"stale", line.stale},
            {"stale_because", line.stale_because}, {"covers", line.covers}};
}

Json time_json(const WalkTime& time) {
    Json circuits = Json::array();
    for (const auto& line : time.circuits)
        circuits.push_back({{"circuit", line.circuit}, {"minutes", number(line.minutes)}, {"takes", line.takes}, {"retakes", line.retakes}});
    Json steps = Json::array();
    for (const auto& line : time.steps)
        steps.push_back({{"kind", line.kind}, {"steps", line.steps}, {"planned_s", number(line.planned_s)}, {"took_s", number(line.took_s)},
                         {"reckoned_s", number(line.reckoned_s)}});
    return {{"walk_min", number(time.walk_min)}, {"pauses_min", number(time.pauses_min)}, {"planned_min", number(time.planned_min)},
            {"planned_steps_took_min", number(time.planned_steps_took_min)}, {"circuits", std::move(circuits)}, {"steps", std::move(steps)}};
}

}  // namespace

std::string show_json(const Show& show) {
    Json json = {{"format", "proofwalk.show/1"},
                 {"log", show.log_name},
                 {"tool", show.tool},
                 {"made", show.made},
                 {"air", show.air},
                 {"walked_by", show.walked_by},
                 {"rehearsed", show.rehearsed},
                 {"cautions", show.cautions},
                 {"decision", show.decision_statement},
                 {"tally", tally_object(show.tally)},
                 {"readings", readings_object(show.readings)["readings"]}};
    for (const char* list : {"curves", "skips", "sign_offs", "history", "takes", "remarks"}) json[list] = Json::array();
    for (const auto& curves : show.curves) json["curves"].push_back(curves_json(curves));
    for (const auto& skip : show.skips)
        json["skips"].push_back({{"check", skip.check}, {"subject", skip.subject}, {"who", skip.who}, {"when", to_text(skip.when)}, {"why", skip.why}});
    for (const auto& line : show.sign_offs) json["sign_offs"].push_back(sign_off_json(line));
    for (const auto& event : show.history)
        json["history"].push_back({{"when", event.when}, {"what", event.what}, {"who", event.who}});
    for (const auto& take : show.takes)
        json["takes"].push_back({{"take", take.label}, {"when", take.when}, {"kind", take.kind}, {"circuits", take.circuits}, {"who", take.who}});
    for (const auto& remark : show.remarks)
        json["remarks"].push_back({{"when", remark.when}, {"about", remark.about}, {"what", remark.what}, {"text", remark.text},
                                   {"who", remark.who}, {"file", remark.file}, {"sha256", remark.sha256}});
    json["time"] = show.time ? time_json(*show.time) : Json(nullptr);
    return dumped(json);
}

}  // namespace proofwalk::report
