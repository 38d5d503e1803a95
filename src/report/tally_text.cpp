// The tally on a terminal: what to act on comes first, passes last.
#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "report/report.hpp"
#include "report/text_table.hpp"
#include "report/verdict_marks.hpp"
#include "report/wording.hpp"

namespace proofwalk::report {
namespace {

using Checks = std::vector<const verify::CheckResult*>;

Checks of_verdict(const verify::Tally& tally, verify::Verdict verdict) {
    Checks checks;
    for (const auto& check : tally.checks)
        if (check.verdict == verdict) checks.push_back(&check);
    return checks;
}

std::string heading(const verify::Tally& tally, const TextStyle& style) {
    std::string plan = fmt::format("plan revision {}", tally.plan_revision);
    if (!tally.plan_sha256.empty()) plan += ", " + short_hash(tally.plan_sha256);
    std::string text = shortened(printable(tally.plan_name) + ", " + plan, style.columns) + "\n\n ";
    const verify::Counts counts = tally.counts();
    for (const auto& mark : verdict_marks) {
        const std::string part = fmt::format("{} {} {}", mark.glyph, count_of(counts, mark.verdict), word(mark.verdict));
        text += " " + coloured(part, count_of(counts, mark.verdict) > 0 ? std::string(mark.ansi) : "", style) + "  ";
    }
    text.erase(text.find_last_not_of(' ') + 1);
    return text + "\n";
}

std::string named(const CheckGroup& group) {
    std::vector<std::string> names;
    for (const auto* check : group) names.push_back(fmt::format("{} {}", plan::word(check->kind), printable(check->subject)));
    return joined(names);
}

// One line a check; what it says and, on the next lines, what to do and which checks wait for the same.
std::string judged_table(const std::vector<CheckGroup>& groups, const TextStyle& style) {
    std::vector<std::string> figures;
    for (const auto& group : groups) figures.push_back(value_of(*group.front()));
    figures = aligned_on_point(std::move(figures));
    TextTable table({{"", Align::left, 9},
                     {"check", Align::left, 10},
                     {"subject", Align::left, 16},
                     {"deviation", Align::left, 18},
                     {"limit", Align::left, 9},
                     {"what was found", Align::left, 60, true}});
    for (std::size_t i = 0; i < groups.size(); ++i) {
        const verify::CheckResult& check = *groups[i].front();
        const VerdictMark& mark = mark_of(check.verdict);
        table.add({{fmt::format("{} {}", mark.glyph, word(check.verdict)), std::string(mark.ansi)},
                   {std::string(plan::word(check.kind))},
                   {printable(check.subject)},
                   {figures[i]},
                   {limit_of(check)},
                   {printable(with_real_signs(check.says))}});
        if (!check.advice.empty()) table.add({{}, {}, {}, {}, {}, {"> " + sentence_case(printable(check.advice))}});
        if (groups[i].size() > 1)
            table.add({{}, {}, {}, {}, {}, {"the same for: " + named({groups[i].begin() + 1, groups[i].end()})}});
    }
    return table.text(style);
}

std::vector<CheckGroup> each_alone(const Checks& checks) {
    std::vector<CheckGroup> groups;
    for (const auto* check : checks) groups.push_back({check});
    return groups;
}

// Open checks by their reason: a plan has many before the walk begins.
std::string open_table(const Checks& checks, const TextStyle& style) {
    std::vector<std::string> reasons;
    std::map<std::string, std::map<std::string, std::vector<std::string>>> subjects;  // reason, check
    std::vector<std::pair<std::string, std::string>> order;
    for (const auto* check : checks) {
        const std::string reason = printable(with_real_signs(check->says));
        const std::string kind(plan::word(check->kind));
        auto& list = subjects[reason][kind];
        if (list.empty()) order.emplace_back(reason, kind);
        list.push_back(printable(check->subject));
    }
    TextTable table({{"", Align::left, 9}, {"check", Align::left, 10}, {"subjects", Align::left, 40, true},
                     {"reason", Align::left, 34}});
    const VerdictMark& mark = mark_of(verify::Verdict::open);
    for (const auto& [reason, kind] : order)
        table.add({{fmt::format("{} {}", mark.glyph, word(mark.verdict))}, {kind}, {joined(subjects[reason][kind])},
                   {reason}});
    return table.text(style);
}

std::string fits_table(const verify::Tally& tally, const TextStyle& style) {
    TextTable table({{"box"}, {"pan", Align::right}, {"tilt", Align::right}, {"gain", Align::right},
                     {"x", Align::right}, {"y", Align::right}, {"z", Align::right}, {"left out", Align::left, 20, true}});
    for (const verify::Fit& fit : tally.fits)
        table.add({{printable(fit.box)},
                   {fitted(fit.pan_deg, fit.pan_u_deg, "deg")},
                   {fitted(fit.tilt_deg, fit.tilt_u_deg, "deg")},
                   {fitted(fit.gain_db, fit.gain_u_db, "dB")},
                   {fitted(fit.at[0], fit.at_u[0], "m")},
                   {fitted(fit.at[1], fit.at_u[1], "m")},
                   {fitted(fit.at[2], fit.at_u[2], "m")},
                   {printable(joined(fit.outliers))}});
    return table.text(style);
}

std::string section(const std::string& title, const std::string& body) {
    return body.empty() ? std::string() : "\n" + title + "\n" + body;
}

}  // namespace

std::string tally_text(const verify::Tally& tally, const TextStyle& style) {
    std::string text = heading(tally, style);
    text += section("What failed and what to do", judged_table(each_alone(of_verdict(tally, verify::Verdict::fail)), style));
    text += section("Measured, but not settled", judged_table(grouped_alike(of_verdict(tally, verify::Verdict::unsure)), style));
    text += section("Open", open_table(of_verdict(tally, verify::Verdict::open), style));
    text += section("Skipped on purpose, not passed",
                    judged_table(each_alone(of_verdict(tally, verify::Verdict::skipped)), style));
    text += section("Passed", judged_table(each_alone(of_verdict(tally, verify::Verdict::pass)), style));
    text += section("Where the boxes stand and point by the sound (one standard uncertainty)", fits_table(tally, style));
    if (tally.drive_latency_ms)
        text += fmt::format("\nLatency of the drive, solved for: {}\n",
                            fitted(tally.drive_latency_ms->value, tally.drive_latency_ms->u, "ms"));
    return text;
}

}  // namespace proofwalk::report
