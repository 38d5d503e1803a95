// The sheets of each reader bound into one self-contained page.
#include <fmt/format.h>

#include "report/file_writing.hpp"
#include "report/html_pieces.hpp"
#include "report/page_shell.hpp"
#include "report/report.hpp"
#include "report/sheets.hpp"
#include "report/wording.hpp"

namespace proofwalk::report {
namespace {

std::vector<Sheet> sheets_for(const Show& show, Reader reader) {
    const Notes notes(show);
    if (reader == Reader::lead) return {lead_sheet(show, notes)};
    if (reader == Reader::review) return {look_back_sheet(show, notes), sign_off_sheet(show)};
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

}  // namespace

std::optional<Reader> reader_from_word(std::string_view word) {
    if (word == "engineer") return Reader::engineer;
    if (word == "lead") return Reader::lead;
    if (word == "review") return Reader::review;
    return std::nullopt;
}

std::string report_html(const Show& show, Reader reader) {
    const std::vector<Sheet> sheets = sheets_for(show, reader);
    std::string main;
    for (std::size_t i = 0; i < sheets.size(); ++i) {
        main += fmt::format("<section class=\"sheet{}\" id=\"{}\" aria-label=\"{}\">\n", sheets[i].landscape ? " landscape" : "",
                            sheets[i].anchor, escaped(sheets[i].name));
        main += "<div class=\"head\"><div>" + sheets[i].head + "</div>\n" + title_block(show, sheets[i], i + 1, sheets.size()) + "</div>\n";
        main += sheets[i].body;
        if (i == 0 && sheets.size() > 2) main += contents_html(sheets);
        main += "</section>\n";
    }
    const RunningText running{fmt::format("{}, plan revision {}, {}", show.plan.name, show.plan_revision, short_hash(show.plan_sha256)),
                              show.rehearsed ? "REHEARSAL, no real rig was measured" : ""};
    return page_html({show.plan.name + ": field verification", show.tool, running, sheets.front().anchor, reader == Reader::engineer}, main);
}

Result<std::filesystem::path> write_report(const Show& show, const std::filesystem::path& folder, Reader reader) {
    return write_whole(folder, "index.html", report_html(show, reader));
}

}  // namespace proofwalk::report
