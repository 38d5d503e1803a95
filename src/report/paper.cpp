#include "report/paper.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "report/html_pieces.hpp"
#include "report/page_shell.hpp"
#include "report/wording.hpp"

namespace proofwalk::report {
namespace {

bool is_figure(const std::string& text) {
    return !text.empty() && text.find_first_not_of("0123456789.-+\u2212\u00b0 ") == std::string::npos;
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

std::string block_html(const PaperHead& head, const plan::Sheet& sheet, std::size_t number, std::size_t of) {
    const auto cell = [](std::string_view name, const std::string& text) {
        return fmt::format("<div><dt>{}</dt><dd>{}</dd></div>", name, escaped(text));
    };
    return "<dl class=\"title-block\">" + cell("Show", head.plan_name) + cell("Plan", short_hash(head.plan_sha256)) +
           cell("Drawn", sheet.title) + cell("Sheet", fmt::format("{} of {}", number, of)) + cell("Made on", head.made) +
           cell("Made by", head.tool) + cell("Checked by", "") + cell("Date", "") + "</dl>\n";
}

}  // namespace

std::string paper_html(const PaperHead& head, const std::vector<plan::Sheet>& sheets) {
    std::string main;
    for (std::size_t i = 0; i < sheets.size(); ++i) {
        const plan::Sheet& sheet = sheets[i];
        main += fmt::format("<section class=\"sheet{}\" id=\"sheet-{}\" aria-label=\"{}\">\n", sheet.columns.size() > 8 ? " landscape" : "",
                            i + 1, escaped(sheet.title));
        main += fmt::format("<div class=\"head\"><div><{0}>{1}</{0}></div>\n{2}</div>\n", i == 0 ? "h1" : "h2", escaped(sheet.title),
                            block_html(head, sheet, i + 1, sheets.size()));
        for (const auto& note : sheet.notes) main += fmt::format("<p>{}</p>\n", escaped(note));
        main += table_html(sheet) + "</section>\n";
    }
    return page_html({head.plan_name + ": sheets", head.tool, {head.plan_name + ", " + short_hash(head.plan_sha256), ""}, "sheet-1", false}, main);
}

}  // namespace proofwalk::report
