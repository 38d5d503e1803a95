// The first sheet: counts, what failed and what to do, what is not settled, skipped and open, and by which rule.
#include <fmt/format.h>

#include "report/html_pieces.hpp"
#include "report/sheets.hpp"
#include "report/wording.hpp"

namespace proofwalk::report {
namespace {

std::string section(std::string_view heading, const std::string& body) {
    return body.empty() ? body : fmt::format("<h3>{}</h3>\n{}", heading, body);
}

std::string named(const Show& show, const CheckGroup& group) {
    std::string html;
    for (const auto* check : group)
        html += fmt::format("{}{} {}", html.empty() ? "" : ", ", plan::word(check->kind), subject_links(show, *check));
    return html;
}

// Sentences that start with what to do, then what was found; the figure of a single check stands apart.
std::string note_html(const Show& show, const CheckGroup& group, const std::string& number) {
    const verify::CheckResult& check = *group.front();
    const std::string what = check.advice.empty() ? check.says : check.advice;
    std::string html = fmt::format("<li><span class=\"number\">{}{}</span><div><p class=\"do\">{}</p><p class=\"found\">{}: {}</p>",
                                   mark_html(check.verdict), number, escaped(sentence_case(what)), named(show, group),
                                   escaped(with_real_signs(check.says)));
    if (!check.takes.empty()) html += fmt::format("<p class=\"more\">take {}</p>", escaped(joined(check.takes)));
    html += "</div>";
    if (check.value && group.size() == 1) {
        const std::string limit = limit_of(check);
        html += fmt::format("<p class=\"figure\">{}{}</p>", escaped(value_of(check)),
                            limit.empty() ? limit : fmt::format(" <span>limit {}</span>", escaped(limit)));
    }
    return html + "</li>\n";
}

std::string failed_html(const Show& show, const Notes& notes) {
    if (notes.failed.empty()) return {};
    std::string html = "<ol class=\"notes\">\n";
    for (std::size_t i = 0; i < notes.failed.size(); ++i)
        html += note_html(show, {notes.failed[i]}, fmt::format("{}", i + 1));
    return section("What failed and what to do", html + "</ol>\n");
}

std::string unsure_html(const Show& show) {
    CheckGroup unsure;
    for (const auto& check : show.tally.checks)
        if (check.verdict == verify::Verdict::unsure) unsure.push_back(&check);
    std::string notes;
    for (const auto& group : grouped_alike(unsure)) notes += note_html(show, group, "");
    return section("Measured, but not settled", notes.empty() ? notes : "<ul class=\"notes\">\n" + notes + "</ul>\n");
}

}  // namespace

Sheet tally_sheet(const Show& show, const Notes& notes) {
    Sheet sheet{"Tally", "tally", {}, {}, false};
    sheet.head = fmt::format("<h1>{}</h1>\n<p class=\"lead\">Field verification of the loudspeaker system: {} on {}, {}</p>\n",
                             escaped(show.plan.name), counted(show.plan.boxes.size(), "box", "boxes"),
                             counted(show.plan.circuits().size(), "circuit", "circuits"),
                             counted(show.tally.checks.size(), "check", "checks"));
    sheet.head += rehearsal_line(show);
    sheet.body = counts_list(show) + failed_html(show, notes) + unsure_html(show);
    sheet.body += section("Skipped on purpose", skipped_table(show, true)) + section("Open", open_table(show, true));
    if (!show.decision_statement.empty())
        sheet.body += section("How it was decided", fmt::format("<p>{}</p>\n", escaped(show.decision_statement)));
    sheet.body += section("Cautions", cautions_html(show));
    return sheet;
}

}  // namespace proofwalk::report
