// The sheets bound into one self-contained page.
#include <fmt/format.h>

#include <fstream>
#include <system_error>

#include "report/html_pieces.hpp"
#include "report/report.hpp"
#include "report/sheet_style.hpp"
#include "report/sheets.hpp"
#include "report/wording.hpp"

namespace proofwalk::report {
namespace {

std::vector<Sheet> all_sheets(const Show& show) {
    const Notes notes(show);
    std::vector<Sheet> sheets = {tally_sheet(show, notes), room_sheet(show, notes)};
    for (const auto& box : show.plan.boxes) sheets.push_back(box_sheet(show, notes, box));
    for (Sheet& sheet : std::vector{array_sheet(show, notes), readings_sheet(show), sign_off_sheet(show)})
        if (!sheet.body.empty()) sheets.push_back(std::move(sheet));
    return sheets;
}

std::string contents_html(const std::vector<Sheet>& sheets) {
    std::string html = "<nav aria-label=\"Sheets\"><ol class=\"contents\">";
    for (std::size_t i = 0; i < sheets.size(); ++i)
        html += fmt::format("<li><a href=\"#{}\">{} {}</a></li>", sheets[i].anchor, i + 1, escaped(sheets[i].name));
    return html + "</ol></nav>\n";
}

std::string head_html(const Show& show) {
    const RunningText running{fmt::format("{}, plan revision {}, {}", show.plan.name, show.plan_revision, short_hash(show.plan_sha256)),
                              show.rehearsed ? "REHEARSAL, no real rig was measured" : ""};
    // Nothing is fetched: the page carries everything, and says so to the browser.
    return fmt::format(R"(<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; img-src data:">
<meta name="generator" content="{}">
<link rel="icon" href="data:,">
<title>{}: field verification</title>
<style>{}</style>
</head>
)",
                       escaped(show.tool), escaped(show.plan.name), page_style(running));
}

Fault cannot_write(const std::filesystem::path& file, const std::string& reason) {
    return {FaultKind::input, file.string(), "", reason, "choose a folder that can be written with --out"};
}

}  // namespace

std::string report_html(const Show& show) {
    const std::vector<Sheet> sheets = all_sheets(show);
    std::string html = head_html(show);
    html += "<body>\n<a class=\"skip-link\" href=\"#tally\">To the tally</a>\n" + mark_symbols() + "<main>\n";
    for (std::size_t i = 0; i < sheets.size(); ++i) {
        html += fmt::format("<section class=\"sheet{}\" id=\"{}\" aria-label=\"{}\">\n", sheets[i].landscape ? " landscape" : "",
                            sheets[i].anchor, escaped(sheets[i].name));
        html += "<div class=\"head\"><div>" + sheets[i].head + "</div>\n" + title_block(show, sheets[i], i + 1, sheets.size()) + "</div>\n";
        html += sheets[i].body;
        if (i == 0) html += contents_html(sheets);
        html += "</section>\n";
    }
    return html + "</main>\n</body>\n</html>\n";
}

Result<std::filesystem::path> write_report(const Show& show, const std::filesystem::path& folder) {
    std::error_code error;
    std::filesystem::create_directories(folder, error);
    if (error) return std::unexpected(cannot_write(folder, "the folder can't be made: " + error.message()));
    const std::filesystem::path file = folder / "index.html";
    const std::filesystem::path unfinished = folder / "index.html.part";
    {
        std::ofstream out(unfinished, std::ios::binary | std::ios::trunc);
        out << report_html(show);
        out.close();
        if (!out) {
            std::filesystem::remove(unfinished, error);
            return std::unexpected(cannot_write(file, "the page can't be written, the disk may be full or read-only"));
        }
    }
    // An earlier report stays whole until the new one is.
    std::filesystem::rename(unfinished, file, error);
    if (error) return std::unexpected(cannot_write(file, "the page can't be put in place: " + error.message()));
    return file;
}

}  // namespace proofwalk::report
