// One page for the crew lead: counts, every exception, a block to sign.
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <span>

#include "report/html_pieces.hpp"
#include "report/sheets.hpp"
#include "report/wording.hpp"

namespace proofwalk::report {
namespace {

constexpr std::size_t most_lines = 16;      // of one printed page; more exceptions are told by check
constexpr std::size_t line_columns = 56;    // of what to do, in its column
constexpr std::size_t most_subjects = 8;
constexpr std::size_t most_sign_offs = 3;

using Checks = std::vector<const verify::CheckResult*>;

Checks exceptions(const Show& show) {
    Checks checks;
    for (const auto& mark : verdict_marks) {
        if (mark.verdict == verify::Verdict::pass) continue;
        for (const auto& check : show.tally.checks)
            if (check.verdict == mark.verdict) checks.push_back(&check);
    }
    return checks;
}

const std::string& told_of(const verify::CheckResult& check) {
    return check.verdict == verify::Verdict::skipped || check.advice.empty() ? check.says : check.advice;
}

bool fits_one_page(const Show& show, const Checks& checks) {
    std::size_t lines = 2 * std::min(show.sign_offs.size(), most_sign_offs);
    for (const auto* check : checks) lines += 1 + told_of(*check).size() / line_columns;
    return lines <= most_lines;
}

std::string first_of(std::vector<std::string> subjects) {
    if (subjects.size() <= most_subjects) return joined(subjects);
    const std::size_t more = subjects.size() - most_subjects;
    subjects.resize(most_subjects);
    return joined(subjects) + fmt::format(" and {} more", more);
}

std::string each_table(const Checks& checks, const Notes& notes) {
    HtmlTable table("Everything that is not a pass.", {{"verdict"}, {"check"}, {"subject"}, {"deviation", true}, {"what to do, or why"}});
    for (const auto* check : checks) {
        const int number = notes.number_of(*check);
        table.add({verdict_html(check->verdict) + (number > 0 ? fmt::format(" <b>{}</b>", number) : ""),
                   std::string(plan::word(check->kind)), escaped(check->subject), escaped(check->value ? value_of(*check) : ""),
                   escaped(sentence_case(told_of(*check)))},
                  2);
    }
    return table.html();
}

// Never more rows than there are checks to ask for, whatever the size of the show.
std::string grouped_table(const Show& show) {
    std::map<plan::CheckKind, std::map<verify::Verdict, std::vector<std::string>>> subjects;
    for (const auto& check : show.tally.checks) subjects[check.kind][check.verdict].push_back(check.subject);
    std::vector<HtmlColumn> columns = {{"check"}};
    for (const auto& mark : verdict_marks) columns.push_back({std::string(word(mark.verdict)), true});
    columns.push_back({"failing"});
    HtmlTable table("Verdicts by check; the engineer's report has each with what to do.", columns);
    for (const auto& [kind, by_verdict] : subjects) {
        std::vector<std::string> cells = {std::string(plan::word(kind))};
        for (const auto& mark : verdict_marks) {
            const auto list = by_verdict.find(mark.verdict);
            cells.push_back(list == by_verdict.end() ? "" : mark_html(mark.verdict) + fmt::format("{}", list->second.size()));
        }
        const auto failing = by_verdict.find(verify::Verdict::fail);
        cells.push_back(failing == by_verdict.end() ? "" : escaped(first_of(failing->second)));
        table.add(cells);
    }
    return table.html();
}

std::string signed_table(const Show& show) {
    const std::size_t hidden = show.sign_offs.size() - std::min(show.sign_offs.size(), most_sign_offs);
    const std::string caption = hidden == 0 ? "Sign-offs so far." : fmt::format("The newest sign-offs; {} earlier in the engineer's report.", hidden);
    HtmlTable table(caption, {{"who"}, {"role"}, {"when"}, {"covers"}, {"accepted by name"}, {"record hash"}});
    for (const auto& line : std::span(show.sign_offs).subspan(hidden))
        table.add({"<span class=\"whole\">" + escaped(line.who) + "</span>", escaped(line.role) + (line.stale ? " <b>(no longer current: " + escaped(line.stale_because) + ")</b>" : ""),
                   escaped(line.when), escaped(line.covers), escaped(line.exceptions.empty() ? "no exception" : first_of(line.exceptions)),
                   escaped(line.hash.substr(0, 16))});
    return table.html();
}

}  // namespace

Sheet lead_sheet(const Show& show, const Notes& notes) {
    Sheet sheet{"For the crew lead", "lead", {}, {}, false};
    sheet.head = fmt::format("<h1>{}</h1>\n", escaped(show.plan.name)) + rehearsal_line(show);
    sheet.body = counts_list(show);
    const Checks checks = exceptions(show);
    sheet.body += checks.empty() ? "<p>Every check of the plan is a pass.</p>\n"
                 : !fits_one_page(show, checks) ? grouped_table(show) : each_table(checks, notes);
    if (!show.decision_statement.empty()) sheet.body += fmt::format("<p class=\"quiet\">{}</p>\n", escaped(show.decision_statement));
    sheet.body += cautions_html(show) + signed_table(show);
    sheet.body += "<h3>Accepted, with the exceptions above</h3>\n" + signature_block();
    sheet.body += fmt::format("<p>Plan <span class=\"hash\">{}</span><br>Log {}, {}</p>\n", escaped(show.plan_sha256),
                              escaped(show.log_name), escaped(show.made));
    return sheet;
}

}  // namespace proofwalk::report
