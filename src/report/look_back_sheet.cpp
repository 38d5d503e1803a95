// For the review after the show: what was left out, what was taken again and again, what was changed, what stands.
#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "report/html_pieces.hpp"
#include "report/sheets.hpp"
#include "report/wording.hpp"

namespace proofwalk::report {
namespace {

std::string section(std::string_view heading, const std::string& table, std::string_view otherwise) {
    return fmt::format("<h3>{}</h3>\n{}", heading, table.empty() ? fmt::format("<p>{}</p>\n", otherwise) : table);
}

std::string judged_table(const Show& show, const Notes& notes, verify::Verdict verdict, const std::string& caption) {
    std::vector<const verify::CheckResult*> checks;
    for (const auto& check : show.tally.checks)
        if (check.verdict == verdict) checks.push_back(&check);
    return checks_table(checks, notes, caption);
}

// A circuit heard at a position in more than one take.
std::string repeats_table(const Show& show) {
    std::map<std::pair<std::string, std::string>, std::vector<std::string>> takes;
    for (const auto& row : show.readings) {
        auto& list = takes[{row.taken.circuit, row.taken.position}];
        if (std::ranges::find(list, row.taken.take) == list.end()) list.push_back(row.taken.take);
    }
    HtmlTable table("The newest usable take of a circuit at a position counts; older ones stay in the log.",
                    {{"circuit"}, {"position"}, {"times", true}, {"takes"}});
    for (const auto& [key, list] : takes)
        if (list.size() > 1)
            table.add({escaped(key.first), escaped(key.second), fmt::format("{}", list.size()), escaped(joined(list))});
    return table.html();
}

std::string retired_table(const Show& show) {
    HtmlTable table("A change of the rig took the place of these readings; they stay in the log.", {{"take"}, {"circuit"}, {"position"}});
    for (const auto& row : show.readings)
        if (row.retired) table.add({escaped(row.taken.take), escaped(row.taken.circuit), escaped(row.taken.position)});
    return table.html();
}

std::string skips_table(const Show& show) {
    HtmlTable table("Every skip of the log, also those taken up again.", {{"check"}, {"subject"}, {"who"}, {"when"}, {"why"}});
    for (const auto& skip : show.skips)
        table.add({escaped(skip.check), escaped(skip.subject), escaped(skip.who), to_text(skip.when), escaped(skip.why)});
    return table.html();
}

std::string spoilt_table(const Show& show) {
    std::map<std::string, int> count;
    for (const auto& row : show.readings)
        for (const auto flag : words(row.taken.reading.flags)) ++count[std::string(flag)];
    HtmlTable table("How often a reading carried a flag.", {{"flag"}, {"readings", true}});
    for (const auto& [flag, times] : count) table.add({escaped(flag), fmt::format("{}", times)});
    return table.html();
}

std::string incidents_table(const Show& show) {
    HtmlTable table("Noted during the show.", {{"when"}, {"about"}, {"what happened"}, {"who"}});
    for (const auto& remark : show.remarks)
        if (remark.what == "incident")
            table.add({escaped(remark.when), escaped(remark.about), escaped(sentence_case(remark.text)), escaped(remark.who)});
    return table.html();
}

std::string time_html(const WalkTime& time) {
    std::vector<Fact> facts = {{"From the first take to the last", fixed(time.walk_min + time.pauses_min, 0) + " min"}};
    if (time.pauses_min > 0.0) facts.push_back({"Of it in pauses", fixed(time.pauses_min, 0) + " min"});
    if (time.planned_min > 0.0)
        facts.push_back({"Steps with a planned time", fmt::format("planned {} min, took {} min", fixed(time.planned_min, 0), fixed(time.planned_steps_took_min, 0))});
    HtmlTable table("Time between a take and the one before it, given to the circuit of the later one; pauses are left out.",
                    {{"circuit"}, {"minutes", true}, {"takes", true}, {"taken again", true}});
    for (const auto& line : time.circuits)
        table.add({escaped(line.circuit.empty() ? "none (silence, gear)" : line.circuit), fixed(line.minutes, 1), fmt::format("{}", line.takes),
                   fmt::format("{}", line.retakes)});
    HtmlTable steps("Seconds from a take to the next: as planned before the walk, as it went, and as the next plan of this crew reckons.",
                    {{"step"}, {"steps", true}, {"planned", true}, {"took", true}, {"reckoned now", true}});
    for (const auto& line : time.steps)
        steps.add({escaped(line.kind), fmt::format("{}", line.steps), fixed(line.planned_s, 0), fixed(line.took_s, 0), fixed(line.reckoned_s, 0)});
    return facts_html(facts) + (time.steps.empty() ? std::string() : steps.html()) + table.html();
}

}  // namespace

Sheet look_back_sheet(const Show& show, const Notes& notes) {
    Sheet sheet{"Review", "review", {}, {}, false};
    sheet.head = fmt::format("<h1>{}</h1>\n<p class=\"lead\">Review: what was left out, repeated and changed</p>\n", escaped(show.plan.name)) +
                 rehearsal_line(show);
    sheet.body = counts_list(show);
    sheet.body += section("Incidents", incidents_table(show), "No incident was noted.");
    sheet.body += section("Skipped", skips_table(show), "Nothing was skipped.");
    sheet.body += section("Never measured", open_table(show, false), "Every check of the plan was measured.");
    sheet.body += section("Still failing", judged_table(show, notes, verify::Verdict::fail, "Fails that nobody put right in this log."),
                          "Nothing fails.");
    sheet.body += section("Never settled", judged_table(show, notes, verify::Verdict::unsure, "Measured, but too near a limit or too uncertain."),
                          "Everything measured is settled.");
    sheet.body += section("Taken again", repeats_table(show), "Nothing was taken twice.");
    sheet.body += section("Retired by changes", retired_table(show), "No take was retired.");
    sheet.body += section("Spoilt readings", spoilt_table(show), "No reading carried a flag.");
    if (show.time) sheet.body += "<h3>Where the time went</h3>\n" + time_html(*show.time);
    return sheet;
}

}  // namespace proofwalk::report
