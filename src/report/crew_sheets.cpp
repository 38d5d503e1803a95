#include <fmt/format.h>

#include "report/desk.hpp"
#include "report/html_pieces.hpp"
#include "report/page_shell.hpp"

namespace proofwalk::report {

std::string crew_sheets_html(const std::string& show, const std::vector<plan::Sheet>& sheets, const std::string& room_svg, const std::string& tool) {
    std::string main;
    for (const auto& sheet : sheets) {
        main += fmt::format("<section class=\"sheet\" id=\"{}\">\n<h2>{}</h2>\n", escaped(sheet.name), escaped(sheet.title));
        for (const auto& note : sheet.notes) main += fmt::format("<p>{}</p>\n", escaped(note));
        std::vector<HtmlColumn> columns;
        for (const auto& column : sheet.columns) columns.push_back({column, false});
        HtmlTable table("", columns);
        for (const auto& row : sheet.rows) {
            std::vector<std::string> cells;
            for (const auto& cell : row) cells.push_back(escaped(cell));
            table.add(cells);
        }
        main += table.html() + "</section>\n";
    }
    if (!room_svg.empty()) main += "<section class=\"sheet\" id=\"room\">\n<h2>Room</h2>\n<figure>" + room_svg + "</figure></section>\n";
    PageShell shell;
    shell.title = show + ", crew sheets";
    shell.tool = tool;
    shell.running = {show, "crew sheets"};
    shell.first_anchor = sheets.empty() ? "room" : sheets.front().name;
    return page_html(shell, main);
}

}  // namespace proofwalk::report
