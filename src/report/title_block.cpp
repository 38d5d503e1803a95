// The block in the corner of every sheet, as drawings have it.
#include <fmt/format.h>

#include "report/html_pieces.hpp"
#include "report/sheets.hpp"
#include "report/wording.hpp"

namespace proofwalk::report {
namespace {

std::string cell(std::string_view name, const std::string& html, std::string_view style_class = "") {
    const std::string attribute = style_class.empty() ? std::string() : fmt::format(" class=\"{}\"", style_class);
    return fmt::format("<div{}><dt>{}</dt><dd>{}</dd></div>", attribute, name, html);
}

std::string counts_line(const Show& show) {
    const verify::Counts counts = show.tally.counts();
    std::string html;
    for (const auto& mark : verdict_marks)
        html += fmt::format("<span>{}{} {}</span>", mark_html(mark.verdict), count_of(counts, mark.verdict), word(mark.verdict));
    return html;
}

std::string sign_off_line(const Show& show) {
    if (show.sign_offs.empty()) return "not signed";
    const SignLine& newest = show.sign_offs.back();
    std::string text = fmt::format("{}, {}", newest.who, newest.role);
    if (!newest.exceptions.empty()) text += ", " + counted(newest.exceptions.size(), "exception", "exceptions");
    if (newest.stale) text += ", no longer current";
    return text + ", " + short_hash(newest.hash);
}

}  // namespace

std::string title_block(const Show& show, const Sheet& sheet, std::size_t number, std::size_t of) {
    const std::string walked = show.walked_by.empty() ? "nobody named" : joined(show.walked_by);
    std::string html = "<dl class=\"title-block\">";
    html += cell("Show", escaped(show.plan.name) + (show.rehearsed ? " (rehearsal)" : ""), "name");
    html += cell("Plan", fmt::format("revision {}, {}", show.plan_revision, escaped(short_hash(show.plan_sha256))));
    html += cell("Air", escaped(show.air));
    html += cell("Sheet", fmt::format("{} of {}", number, of));
    html += cell("Drawn", escaped(sheet.name), "name");
    html += cell("Walked by", escaped(walked));
    html += cell("Counts", counts_line(show), "tally");
    html += cell("Sign-off", escaped(sign_off_line(show)));
    return html + "</dl>\n";
}

}  // namespace proofwalk::report
