#include "report/record_document.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "report/json.hpp"
#include "report/text_table.hpp"

namespace proofwalk::report {
namespace {

Json json_of(const Value& value) {
    return std::visit(
        [](const auto& held) {
            using Held = std::decay_t<decltype(held)>;
            if constexpr (std::is_same_v<Held, std::monostate>)
                return Json(nullptr);
            else if constexpr (std::is_same_v<Held, double>)
                return number(held);
            else
                return Json(held);
        },
        value);
}

std::string text_of(const Value& value) {
    return std::visit(
        [](const auto& held) -> std::string {
            using Held = std::decay_t<decltype(held)>;
            if constexpr (std::is_same_v<Held, std::monostate>)
                return "";
            else if constexpr (std::is_same_v<Held, bool>)
                return held ? "yes" : "no";
            else if constexpr (std::is_same_v<Held, std::int64_t>)
                return fmt::format("{}", held);
            else if constexpr (std::is_same_v<Held, double>)
                return std::isfinite(held) ? fmt::format("{:.2f}", held) : "";
            else if constexpr (std::is_same_v<Held, std::string>)
                return held;
            else
                return fmt::format("{}", fmt::join(held, ", "));
        },
        value);
}

// "never_measured" for programs is "never measured" for people.
std::string in_words(std::string key) {
    std::ranges::replace(key, '_', ' ');
    return key;
}

bool is_figure(const Value& value) { return std::holds_alternative<double>(value) || std::holds_alternative<std::int64_t>(value); }

std::string table_text(const RecordTable& table, const TextStyle& style) {
    std::vector<Column> columns;
    for (std::size_t place = 0; place < table.columns.size(); ++place) {
        const bool figures = std::ranges::all_of(table.rows, [&](const auto& row) {
            return is_figure(row[place]) || std::holds_alternative<std::monostate>(row[place]);
        });
        columns.push_back({in_words(table.columns[place]), figures ? Align::right : Align::left, 30, place + 1 == table.columns.size()});
    }
    TextTable text(std::move(columns));
    for (const auto& row : table.rows) {
        std::vector<Cell> cells;
        for (const Value& value : row) cells.push_back({text_of(value), {}});
        text.add(std::move(cells));
    }
    return fmt::format("\n{}\n{}", table.title, text.text(style));
}

}  // namespace

std::string document_json(const RecordDocument& document) {
    Json json;
    json["format"] = document.format;
    for (const auto& [key, value] : document.facts) json[key] = json_of(value);
    for (const RecordTable& table : document.tables) {
        Json rows = Json::array();
        for (const auto& row : table.rows) {
            Json entry = Json::object();
            for (std::size_t place = 0; place < table.columns.size(); ++place) entry[table.columns[place]] = json_of(row[place]);
            rows.push_back(std::move(entry));
        }
        json[table.key] = std::move(rows);
    }
    return dumped(json);
}

std::string document_text(const RecordDocument& document, const TextStyle& style) {
    std::string text;
    for (const auto& [key, value] : document.facts)
        if (const std::string words = text_of(value); !words.empty()) text += fmt::format("{}: {}\n", in_words(key), words);
    for (const RecordTable& table : document.tables)
        if (!table.rows.empty()) text += table_text(table, style);
    return text;
}

}  // namespace proofwalk::report
