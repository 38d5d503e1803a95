// One page for the crew lead: counts, every exception, a block to sign.
#include <fmt/format.h>

#include <map>

#include "report/html_pieces.hpp"
#include "report/sheets.hpp"
#include "report/wording.hpp"

namespace proofwalk::report {
namespace {

constexpr std::size_t most_rows = 20;  // of one printed page; more exceptions are told by check

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

std::string each_table(const Checks& checks, const Notes& notes) {
    HtmlTable table("Everything that is not a pass.", {{"verdict"}, {"check"}, {"subject"}, {"deviation", true}, {"what to do, or why"}});
    for (const auto* check : checks) {
        const int number = notes.number_of(*check);
        const std::string& told = check->verdict == verify::Verdict::skipped || check->advice.empty() ? check->says : check->advice;
        table.add({verdict_html(check->verdict) + (number > 0 ? fmt::format(" <b>{}</b>", number) : ""),
                   std::string(plan::word(check->kind)), escaped(check->subject), escaped(check->value ? value_of(*check) : ""),
                   escaped(sentence_case(told))},
                  2);
    }
    return table.html();
}

std::string grouped_table(const Checks& checks) {
    std::vector<std::pair<verify::Verdict, plan::CheckKind>> order;
    std::map<std::pair<verify::Verdict, plan::CheckKind>, std::vector<std::string>> subjects;
    for (const auto* check : checks) {
        const std::pair key(check->verdict, check->kind);
        auto& list = subjects[key];
        if (list.empty()) order.push_back(key);
        list.push_back(check->subject);
    }
    HtmlTable table("Everything that is not a pass, by check; the engineer's report has each with what to do.",
                    {{"verdict"}, {"check"}, {"number", true}, {"subjects"}});
    for (const auto& key : order)
        table.add({verdict_html(key.first), std::string(plan::word(key.second)), fmt::format("{}", subjects[key].size()),
                   escaped(joined(subjects[key]))},
                  1);
    return table.html();
}

std::string signed_table(const Show& show) {
    HtmlTable table("Sign-offs so far.", {{"who"}, {"role"}, {"when"}, {"accepted by name"}, {"record hash"}});
    for (const auto& line : show.sign_offs)
        table.add({escaped(line.who), escaped(line.role) + (line.stale ? " <b>(no longer current: " + escaped(line.stale_because) + ")</b>" : ""),
                   escaped(line.when), escaped(line.exceptions.empty() ? "no exception" : joined(line.exceptions)),
                   "<span class=\"hash\">" + escaped(line.hash.substr(0, 16)) + "</span>"});
    return table.html();
}

}  // namespace

Sheet lead_sheet(const Show& show, const Notes& notes) {
    Sheet sheet{"For the crew lead", "lead", {}, {}, false};
    sheet.head = fmt::format("<h1>{}</h1>\n", escaped(show.plan.name)) + rehearsal_line(show);
    sheet.body = counts_list(show);
    const Checks checks = exceptions(show);
    sheet.body += checks.empty() ? "<p>Every check of the plan is a pass.</p>\n"
                                 : checks.size() > most_rows ? grouped_table(checks) : each_table(checks, notes);
    if (!show.decision_statement.empty()) sheet.body += fmt::format("<p class=\"quiet\">{}</p>\n", escaped(show.decision_statement));
    sheet.body += cautions_html(show) + signed_table(show);
    sheet.body += "<h3>Accepted, with the exceptions above</h3>\n" + signature_block();
    sheet.body += fmt::format("<p>Plan <span class=\"hash\">{}</span><br>Log {}, {}</p>\n", escaped(show.plan_sha256),
                              escaped(show.log_name), escaped(show.made));
    return sheet;
}

}  // namespace proofwalk::report
