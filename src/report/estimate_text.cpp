#include <algorithm>
#include <cmath>

#include "report/estimate.hpp"
#include "report/figures.hpp"
#include "report/text_table.hpp"

namespace proofwalk::report {
namespace {

std::string shown(const std::optional<double>& value, const std::string& unit, int decimals, LengthUnit lengths) {
    if (!value || !std::isfinite(*value)) return "none";
    if (unit == "m" && lengths == LengthUnit::feet) return length_text(*value, lengths);
    return fixed(*value, decimals);
}

std::string unit_shown(const std::string& unit, LengthUnit lengths) { return unit == "m" && lengths == LengthUnit::feet ? "" : unit; }

}  // namespace

std::string estimate_text(const Estimate& estimate, const TextStyle& style, LengthUnit unit) {
    std::string text = coloured(estimate.title, "1", style) + "\n";
    for (const auto& sentence : estimate.says)
        for (const auto& line : wrapped(printable(sentence), style.columns - 2)) text += "  " + line + "\n";
    if (!estimate.figures.empty()) {
        TextTable table({{.most = 40}, {.align = Align::right, .most = 16}, {.most = 8}});
        for (const auto& figure : estimate.figures)
            table.add({{figure.words}, {shown(figure.value, figure.unit, figure.decimals, unit)}, {figure.value ? unit_shown(figure.unit, unit) : ""}});
        text += "\n" + table.text(style);
    }
    for (const auto& rows : estimate.tables) {
        std::vector<Column> columns;
        const bool labelled = std::ranges::any_of(rows.rows, [](const auto& row) { return !row.label.empty(); });
        if (labelled) columns.push_back({.title = rows.label_words, .most = 28});
        for (const auto& column : rows.columns) {
            const std::string in = unit_shown(column.unit, unit);
            columns.push_back({.title = in.empty() ? column.words : column.words + " " + in, .align = Align::right, .most = 14});
        }
        TextTable table(columns);
        for (const auto& row : rows.rows) {
            std::vector<Cell> cells;
            if (labelled) cells.push_back({printable(row.label)});
            for (std::size_t i = 0; i < row.values.size(); ++i)
                cells.push_back({shown(row.values[i], rows.columns[i].unit, rows.columns[i].decimals, unit)});
            table.add(std::move(cells));
        }
        text += "\n" + rows.title + "\n" + table.text(style);
    }
    if (!estimate.assumes.empty()) {
        text += "\nRests on\n";
        for (const auto& sentence : estimate.assumes) {
            bool first = true;
            for (const auto& line : wrapped(printable(sentence), style.columns - 4)) {
                text += (first ? "  - " : "    ") + line + "\n";
                first = false;
            }
        }
    }
    return text;
}

}  // namespace proofwalk::report
