// proofwalk.tally/1
#include "report/json.hpp"
#include "report/json_objects.hpp"
#include "report/report.hpp"

namespace proofwalk::report {

Json check_object(const verify::CheckResult& check) {
    Json budget = Json::array();
    for (const auto& line : check.budget) budget.push_back({{"source", line.source}, {"u", number(line.u)}});
    return {{"check", plan::word(check.kind)},
            {"subject", check.subject},
            {"verdict", word(check.verdict)},
            {"value", number(check.value)},
            {"unit", check.unit},
            {"uncertainty", number(check.uncertainty)},
            {"probability", number(check.probability)},
            {"target", number(check.target)},
            {"tolerance", number(check.tolerance)},
            {"takes", check.takes},
            {"positions", check.positions},
            {"says", check.says},
            {"advice", check.advice},
            {"predicted_u", number(check.predicted_u)},
            {"budget", std::move(budget)}};
}

namespace {

Json fit_json(const verify::Fit& fit) {
    Json at = Json::array();
    Json at_u = Json::array();
    for (std::size_t axis = 0; axis < fit.at.size(); ++axis) {
        at.push_back(number(fit.at[axis]));
        at_u.push_back(number(fit.at_u[axis]));
    }
    return {{"box", fit.box},
            {"pan_deg", number(fit.pan_deg)},
            {"pan_u_deg", number(fit.pan_u_deg)},
            {"tilt_deg", number(fit.tilt_deg)},
            {"tilt_u_deg", number(fit.tilt_u_deg)},
            {"gain_db", number(fit.gain_db)},
            {"gain_u_db", number(fit.gain_u_db)},
            {"at", std::move(at)},
            {"at_u", std::move(at_u)},
            {"outliers", fit.outliers}};
}

}  // namespace

Json tally_object(const verify::Tally& tally) {
    const verify::Counts counts = tally.counts();
    Json json = {{"format", "proofwalk.tally/1"},
                 {"plan", {{"name", tally.plan_name}, {"sha256", tally.plan_sha256}, {"revision", tally.plan_revision}}},
                 {"counts",
                  {{"pass", counts.pass},
                   {"fail", counts.fail},
                   {"unsure", counts.unsure},
                   {"open", counts.open},
                   {"skipped", counts.skipped}}}};
    json["checks"] = Json::array();
    for (const auto& check : tally.checks) json["checks"].push_back(check_object(check));
    json["fits"] = Json::array();
    for (const auto& fit : tally.fits) json["fits"].push_back(fit_json(fit));
    json["drive_latency_ms"] = tally.drive_latency_ms ? number(tally.drive_latency_ms->value) : Json(nullptr);
    json["drive_latency_u_ms"] = tally.drive_latency_ms ? number(tally.drive_latency_ms->u) : Json(nullptr);
    return json;
}

std::string tally_json(const verify::Tally& tally) { return dumped(tally_object(tally)); }

}  // namespace proofwalk::report
