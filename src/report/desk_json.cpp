#include "report/desk.hpp"
#include "report/json.hpp"

namespace proofwalk::report {

std::string place_json(const plan::Placement& placement, const std::vector<PredictedAccuracy>& accuracy) {
    Json positions = Json::array();
    for (const auto& position : placement.positions) {
        Json serves = Json::array();
        for (const auto& serve : position.serves) serves.push_back({{"role", word(serve.role)}, {"boxes", serve.boxes}});
        positions.push_back({{"position", position.id},
                             {"at", Json::array({number(position.at.x), number(position.at.y), number(position.at.z)})},
                             {"serves", std::move(serves)}});
    }
    Json unplaced = Json::array();
    for (const auto& one : placement.unplaced) unplaced.push_back({{"role", word(one.role)}, {"boxes", one.boxes}, {"why", one.why}});
    Json checks = Json::array();
    for (const auto& one : accuracy)
        checks.push_back({{"check", one.check},
                          {"subject", one.subject},
                          {"unit", one.unit},
                          {"before_u", number(one.before_u)},
                          {"after_u", number(one.after_u)},
                          {"before", verify::word(one.before)},
                          {"after", verify::word(one.after)},
                          {"says", one.says}});
    return dumped({{"format", "proofwalk.place/1"},
                   {"walk_m", number(placement.walk_m)},
                   {"positions", std::move(positions)},
                   {"unplaced", std::move(unplaced)},
                   {"predicted", std::move(checks)}});
}

std::string diff_json(const PlanDifference& difference) {
    Json words = Json::array(), targets = Json::array(), checks = Json::array();
    for (const auto& one : difference.words) words.push_back({{"section", one.section}, {"subject", one.subject}, {"says", one.words}});
    for (const auto& one : difference.targets)
        targets.push_back({{"box", one.box},
                           {"position", one.position},
                           {"arrival_ms", number(one.arrival_ms)},
                           {"aim_band_db", number(one.aim_band_db)},
                           {"off_axis_h_deg", number(one.h_deg)},
                           {"off_axis_v_deg", number(one.v_deg)}});
    for (const auto& one : difference.checks) {
        const char* kind = one.kind == plan::CheckChange::Kind::reopened ? "reopened" : one.kind == plan::CheckChange::Kind::added ? "added" : "dropped";
        checks.push_back({{"check", word(one.check)}, {"subject", one.subject}, {"change", kind}, {"why", one.why}});
    }
    return dumped({{"format", "proofwalk.diff/1"},
                   {"before", difference.before_name},
                   {"after", difference.after_name},
                   {"differences", std::move(words)},
                   {"targets", std::move(targets)},
                   {"checks", std::move(checks)}});
}

}  // namespace proofwalk::report
