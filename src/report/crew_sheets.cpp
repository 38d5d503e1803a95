// Sheets for the crew (rigging, mics, patch), one printed sheet a table, with a column to tick.
#include <fmt/format.h>

#include <algorithm>
#include <cctype>

#include "report/desk.hpp"
#include "report/html_pieces.hpp"
#include "report/page_shell.hpp"
#include "report/text_width.hpp"
#include "report/wording.hpp"

namespace proofwalk::report {
namespace {

constexpr std::size_t widest_upright = 8;  // more columns are printed on landscape paper

// A number, perhaps with a short unit: "4.6", "-13.3", "1.20 m", "14 ft 3 in".
bool is_figure(const std::string& text) {
    const auto digits = std::ranges::count_if(text, [](unsigned char c) { return std::isdigit(c) != 0; });
    const auto letters = std::ranges::count_if(text, [](unsigned char c) { return std::isalpha(c) != 0; });
    const bool starts = !text.empty() && std::string_view("+-0123456789").find(text.front()) != std::string_view::npos;
    return starts && digits > 0 && letters <= 4 && columns_of(text) <= 12;
}

// Right-aligned where every filled cell is a number.
bool holds_figures(const plan::Sheet& sheet, std::size_t column) {
    bool any = false;
    for (const auto& row : sheet.rows) {
        if (column >= row.size() || row[column].empty()) continue;
        if (!is_figure(row[column])) return false;
        any = true;
    }
    return any;
}

std::string table_html(const plan::Sheet& sheet) {
    std::vector<HtmlColumn> columns;
    for (std::size_t c = 0; c < sheet.columns.size(); ++c) columns.push_back({sheet.columns[c], holds_figures(sheet, c)});
    columns.push_back({"done", false});
    HtmlTable table(counted(sheet.rows.size(), "row", "rows"), columns);
    for (const auto& row : sheet.rows) {
        std::vector<std::string> cells;
        for (const auto& text : row) cells.push_back(escaped(text));
        cells.resize(sheet.columns.size());
        cells.push_back("<span class=\"tick-box\" aria-hidden=\"true\"></span>");
        table.add(cells);
    }
    return table.html();
}

std::string block_html(const std::string& show, const std::string& tool, const std::string& drawn, std::size_t number, std::size_t of) {
    const auto cell = [](std::string_view name, const std::string& text) {
        return fmt::format("<div><dt>{}</dt><dd>{}</dd></div>", name, escaped(text));
    };
    return "<dl class=\"title-block\">" + cell("Show", show) + cell("Drawn", drawn) + cell("Sheet", fmt::format("{} of {}", number, of)) +
           cell("Made by", tool) + cell("Checked by", "") + cell("Signature", "") + cell("Date", "") + cell("Remarks", "") + "</dl>\n";
}

std::string head_html(std::string_view level, const std::string& title, const std::string& block) {
    return fmt::format("<div class=\"head\"><div><{0}>{1}</{0}></div>\n{2}</div>\n", level, escaped(title), block);
}

}  // namespace

std::string crew_sheets_html(const std::string& show, const std::vector<plan::Sheet>& sheets, const std::string& room_svg,
                             const std::string& tool) {
    const std::size_t of = sheets.size() + (room_svg.empty() ? 0 : 1);
    std::string main;
    for (std::size_t i = 0; i < sheets.size(); ++i) {
        const plan::Sheet& sheet = sheets[i];
        main += fmt::format("<section class=\"sheet{}\" id=\"{}\" aria-label=\"{}\">\n", sheet.columns.size() > widest_upright ? " landscape" : "",
                            escaped(sheet.name), escaped(sheet.title));
        main += head_html(i == 0 ? "h1" : "h2", sheet.title, block_html(show, tool, sheet.title, i + 1, of));
        for (const auto& note : sheet.notes) main += fmt::format("<p>{}</p>\n", escaped(note));
        main += table_html(sheet) + "</section>\n";
    }
    if (!room_svg.empty())
        main += "<section class=\"sheet\" id=\"room\" aria-label=\"Room\">\n" + head_html(sheets.empty() ? "h1" : "h2", "Room", block_html(show, tool, "Room", of, of)) +
                "<figure>" + room_svg + "</figure></section>\n";
    return page_html({show + ", crew sheets", tool, {show, "crew sheets"}, sheets.empty() ? "room" : sheets.front().name, false}, main);
}

}  // namespace proofwalk::report
