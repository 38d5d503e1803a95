// proofwalk.estimate/1
#include "report/estimate.hpp"
#include "report/json.hpp"

namespace proofwalk::report {

std::string estimate_json(const Estimate& estimate) {
    Json figures = Json::object();
    for (const auto& figure : estimate.figures) figures[figure.key] = number(figure.value);
    Json document{{"format", "proofwalk.estimate/1"}, {"estimate", estimate.what}, {"figures", std::move(figures)}};
    for (const auto& table : estimate.tables) {
        Json rows = Json::array();
        for (const auto& row : table.rows) {
            Json entry = Json::object();
            if (!row.label.empty()) entry["label"] = row.label;
            for (std::size_t i = 0; i < row.values.size(); ++i) entry[table.columns[i].key] = number(row.values[i]);
            rows.push_back(std::move(entry));
        }
        document[table.key] = std::move(rows);
    }
    if (estimate.sketch && estimate.sketch->field) {
        const auto& field = *estimate.sketch->field;
        Json levels = Json::array();
        for (std::size_t i = 0; i < field.db.size(); ++i)
            levels.push_back(Json::array({number(field.places[i].first), number(field.places[i].second), number(field.db[i])}));
        document["map"] = {{"rows", field.rows}, {"columns", field.columns}, {"x_y_db", std::move(levels)}};
    }
    document["says"] = estimate.says;
    document["assumes"] = estimate.assumes;
    return dumped(document);
}

}  // namespace proofwalk::report
