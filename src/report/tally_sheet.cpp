// The first sheet: counts, what failed and what to do, what is not settled, skipped and open, and by which rule.
#include <fmt/format.h>

#include <map>

#include "report/html_pieces.hpp"
#include "report/sheets.hpp"
#include "report/wording.hpp"

namespace proofwalk::report {
namespace {

using Checks = std::vector<const verify::CheckResult*>;

Checks of_verdict(const Show& show, verify::Verdict verdict) {
    Checks checks;
    for (const auto& check : show.tally.checks)
        if (check.verdict == verdict) checks.push_back(&check);
    return checks;
}

std::string counts_html(const Show& show) {
    const verify::Counts counts = show.tally.counts();
    std::string html = "<ul class=\"counts\" aria-label=\"Verdicts\">";
    for (const auto& mark : verdict_marks)
        html += fmt::format("<li>{}<b>{}</b> {}</li>", mark_html(mark.verdict), count_of(counts, mark.verdict),
                            word(mark.verdict));
    return html + "</ul>\n";
}

std::string subject_links(const Show& show, const verify::CheckResult& check) {
    std::string html;
    for (const auto& subject : subjects_of(check)) {
        const std::string anchor = box_anchor(show, subject);
        html += html.empty() ? "" : "+";
        html += anchor.empty() ? escaped(subject) : fmt::format("<a href=\"#{}\">{}</a>", anchor, escaped(subject));
    }
    return html;
}

// Sentences that start with what to do, then what was found; the figure stands apart.
std::string note_html(const Show& show, const verify::CheckResult& check, const std::string& number) {
    const std::string what = check.advice.empty() ? check.says : check.advice;
    std::string html = fmt::format("<li><span class=\"number\">{}{}</span><div><p class=\"do\">{}</p><p class=\"found\">{} {}: {}</p>",
                                   mark_html(check.verdict), number, escaped(sentence_case(what)), plan::word(check.kind),
                                   subject_links(show, check), escaped(check.says));
    if (!check.takes.empty()) html += fmt::format("<p class=\"more\">take {}</p>", escaped(joined(check.takes)));
    html += "</div>";
    if (check.value) {
        const std::string limit = limit_of(check);
        html += fmt::format("<p class=\"figure\">{}{}</p>", escaped(value_of(check)),
                            limit.empty() ? limit : fmt::format(" <span>limit {}</span>", escaped(limit)));
    }
    return html + "</li>\n";
}

std::string failed_html(const Show& show, const Notes& notes) {
    if (notes.failed.empty()) return {};
    std::string html = "<h3>What failed and what to do</h3>\n<ol class=\"notes\">\n";
    for (std::size_t i = 0; i < notes.failed.size(); ++i)
        html += note_html(show, *notes.failed[i], fmt::format("{}", i + 1));
    return html + "</ol>\n";
}

std::string unsure_html(const Show& show) {
    const Checks checks = of_verdict(show, verify::Verdict::unsure);
    if (checks.empty()) return {};
    std::string html = "<h3>Measured, but not settled</h3>\n<ol class=\"notes\">\n";
    for (const auto* check : checks) html += note_html(show, *check, "");
    return html + "</ol>\n";
}

std::string skipped_html(const Show& show) {
    HtmlTable table("A skip is never a pass.", {{"check"}, {"subject"}, {"who"}, {"when"}, {"why, and what was known"}});
    for (const auto* check : of_verdict(show, verify::Verdict::skipped)) {
        std::string who, when, why;
        for (const auto& skip : show.skips)
            if (skip.check == plan::word(check->kind) && skip.subject == check->subject) {
                who = skip.who;
                when = to_text(skip.when);
                why = skip.why;
            }
        table.add({std::string(plan::word(check->kind)), subject_links(show, *check), escaped(who), escaped(when),
                   escaped(check->says.empty() ? why : sentence_case(check->says))});
    }
    return table.empty() ? std::string() : "<h3>Skipped on purpose</h3>\n" + table.html();
}

// Many checks wait for the same reason: told together.
std::string open_html(const Show& show) {
    std::vector<std::pair<std::string, plan::CheckKind>> order;
    std::map<std::pair<std::string, plan::CheckKind>, std::string> subjects;
    for (const auto* check : of_verdict(show, verify::Verdict::open)) {
        const std::pair key(check->says, check->kind);
        std::string& list = subjects[key];
        if (list.empty()) order.push_back(key);
        list += (list.empty() ? "" : ", ") + subject_links(show, *check);
    }
    HtmlTable table("The plan is complete only when nothing is open.", {{"check"}, {"subjects"}, {"reason"}});
    for (const auto& key : order)
        table.add({std::string(plan::word(key.second)), subjects[key], escaped(sentence_case(key.first))});
    return table.empty() ? std::string() : "<h3>Open</h3>\n" + table.html();
}

std::string cautions_html(const Show& show) {
    std::string html;
    for (const auto& caution : show.cautions)
        html += fmt::format("<p class=\"caution\"><svg aria-hidden=\"true\"><use href=\"#mark-caution\"/></svg>{}</p>\n",
                            escaped(caution));
    return html.empty() ? html : "<h3>Cautions</h3>\n" + html;
}

}  // namespace

Sheet tally_sheet(const Show& show, const Notes& notes) {
    Sheet sheet{"Tally", "tally", {}, {}, false};
    sheet.head = fmt::format("<h1>{}</h1>\n<p class=\"lead\">Field verification of the loudspeaker system: {} on {}, {}</p>\n",
                             escaped(show.plan.name), counted(show.plan.boxes.size(), "box", "boxes"),
                             counted(show.plan.circuits().size(), "circuit", "circuits"),
                             counted(show.tally.checks.size(), "check", "checks"));
    if (show.rehearsed)
        sheet.head += "<p><span class=\"rehearsal\">Rehearsal: simulated takes, no real rig was measured</span></p>\n";
    sheet.body = counts_html(show) + failed_html(show, notes) + unsure_html(show) + skipped_html(show) + open_html(show);
    if (!show.decision_statement.empty())
        sheet.body += fmt::format("<h3>How it was decided</h3>\n<p>{}</p>\n", escaped(show.decision_statement));
    sheet.body += cautions_html(show);
    return sheet;
}

}  // namespace proofwalk::report
