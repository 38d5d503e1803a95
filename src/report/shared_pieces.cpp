// Pieces that several sheets share.
#include <fmt/format.h>

#include <map>

#include "report/html_pieces.hpp"
#include "report/sheets.hpp"
#include "report/wording.hpp"

namespace proofwalk::report {
namespace {

std::string subjects_html(const Show& show, const verify::CheckResult& check, bool links) {
    return links ? subject_links(show, check) : escaped(check.subject);
}

}  // namespace

std::string counts_list(const Show& show) {
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

std::string skipped_table(const Show& show, bool links) {
    HtmlTable table("A skip is never a pass.", {{"check"}, {"subject"}, {"who"}, {"when"}, {"why, and what was known"}});
    for (const auto& check : show.tally.checks) {
        if (check.verdict != verify::Verdict::skipped) continue;
        std::string who, when;
        for (const auto& skip : show.skips)
            if (skip.check == plan::word(check.kind) && skip.subject == check.subject) {
                who = skip.who;
                when = to_text(skip.when);
            }
        table.add({std::string(plan::word(check.kind)), subjects_html(show, check, links), escaped(who), escaped(when),
                   escaped(sentence_case(check.says))});
    }
    return table.html();
}

// Many checks wait for the same reason: told together.
std::string open_table(const Show& show, bool links) {
    std::vector<std::pair<std::string, plan::CheckKind>> order;
    std::map<std::pair<std::string, plan::CheckKind>, std::string> subjects;
    for (const auto& check : show.tally.checks) {
        if (check.verdict != verify::Verdict::open) continue;
        const std::pair key(check.says, check.kind);
        std::string& list = subjects[key];
        if (list.empty()) order.push_back(key);
        list += (list.empty() ? "" : ", ") + subjects_html(show, check, links);
    }
    HtmlTable table("The plan is complete only when nothing is open.", {{"check"}, {"subjects"}, {"reason"}});
    for (const auto& key : order)
        table.add({std::string(plan::word(key.second)), subjects[key], escaped(sentence_case(key.first))});
    return table.html();
}

std::string cautions_html(const Show& show) {
    std::string html;
    for (const auto& caution : show.cautions)
        html += fmt::format("<p class=\"caution\"><svg aria-hidden=\"true\"><use href=\"#mark-caution\"/></svg>{}</p>\n",
                            escaped(caution));
    return html;
}

std::string rehearsal_line(const Show& show) {
    return show.rehearsed ? "<p><span class=\"rehearsal\">Rehearsal: simulated takes, no real rig was measured</span></p>\n" : "";
}

std::string signature_block() {
    return "<div class=\"signature\"><div>Name and role</div><div>Signature</div><div>Date</div></div>\n";
}

}  // namespace proofwalk::report
