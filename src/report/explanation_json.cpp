// proofwalk.explain/1
#include "report/explanation.hpp"
#include "report/json.hpp"
#include "report/json_objects.hpp"

namespace proofwalk::report {
namespace {

Json measured_json(const std::optional<Measured>& figure) {
    if (!figure) return nullptr;
    return {{"value", number(figure->value)}, {"u", number(figure->u)}};
}

Json compared_json(const verify::Compared& one) {
    return {{"circuit", one.circuit},       {"position", one.position},
            {"roles", one.roles},           {"take", one.take},
            {"mic", one.mic},               {"asked", one.asked},
            {"left_out", one.left_out},     {"level_db", measured_json(one.level_db)},
            {"level_planned_db", number(one.planned_db)}, {"level_fitted_db", number(one.fitted_db)},
            {"arrival_ms", measured_json(one.arrival_ms)}, {"arrival_planned_ms", number(one.planned_ms)},
            {"arrival_fitted_ms", number(one.fitted_ms)}};
}

}  // namespace

std::string explanations_json(const std::vector<verify::Explanation>& all, const std::vector<const GlossaryEntry*>& teaching) {
    Json checks = Json::array();
    for (const verify::Explanation& why : all) {
        Json check = check_object(why.check);
        check["rule"] = why.rule;
        check["compared"] = Json::array();
        for (const verify::Compared& one : why.compared) check["compared"].push_back(compared_json(one));
        checks.push_back(std::move(check));
    }
    Json texts = Json::array();
    for (const GlossaryEntry* entry : teaching) {
        Json parts = Json::array();
        for (const GlossaryPart& part : entry->parts) parts.push_back({{"name", part.name}, {"text", part.text}});
        texts.push_back({{"checks", entry->words}, {"parts", std::move(parts)}});
    }
    return dumped({{"format", "proofwalk.explain/1"}, {"checks", std::move(checks)}, {"teaching", std::move(texts)}});
}

}  // namespace proofwalk::report
