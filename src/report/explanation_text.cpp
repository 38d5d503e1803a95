#include <fmt/format.h>

#include <cmath>

#include "report/explanation.hpp"
#include "report/figures.hpp"
#include "report/text_table.hpp"
#include "report/verdict_marks.hpp"
#include "report/wording.hpp"

namespace proofwalk::report {
namespace {

std::string figure(std::optional<double> value, int decimals) {
    return value ? fixed(*value, decimals) : std::string(no_figure);
}

// One line a reading: measured, as the plan has it and as the fitted hang gives it.
struct Row {
    std::optional<Measured> measured;
    std::optional<double> planned, fitted;
};

template <class RowOf>
std::string compared_table(const std::vector<verify::Compared>& all, int decimals, const RowOf& row_of, const TextStyle& style) {
    TextTable table({{"", Align::left, 8},
                     {"position", Align::left, 12},
                     {"role", Align::left, 24},
                     {"circuit", Align::left, 10},
                     {"take", Align::left, 8},
                     {"mic", Align::left, 6},
                     {"measured", Align::right, 9},
                     {"planned", Align::right, 9},
                     {"fitted", Align::right, 9}});
    for (const verify::Compared& one : all) {
        const Row row = row_of(one);
        if (!row.measured) continue;
        table.add({{one.left_out ? "left out" : one.asked ? "asked" : "also"},
                   {printable(one.position)},
                   {joined(one.roles)},
                   {printable(one.circuit)},
                   {printable(one.take)},
                   {printable(one.mic)},
                   {fixed(row.measured->value, decimals)},
                   {figure(row.planned, decimals)},
                   {figure(row.fitted, decimals)}});
    }
    return table.empty() ? std::string{} : table.text(style);
}

std::string budget_table(const verify::Explanation& why, const TextStyle& style) {
    double variance = 0.0;
    for (const verify::BudgetLine& line : why.budget) variance += line.u * line.u;
    if (variance <= 0.0) return {};
    TextTable table({{"source", Align::left, 34}, {"standard uncertainty", Align::right}, {"share", Align::right}});
    for (const verify::BudgetLine& line : why.budget)
        table.add({{printable(line.source)},
                   {with_unit(fixed(line.u, decimals_of(line.u)), why.check.unit)},
                   {fmt::format("{:.0f} %", 100.0 * line.u * line.u / variance)}});
    const double all = std::sqrt(variance);
    table.add({{"together"}, {with_unit(fixed(all, decimals_of(all)), why.check.unit)}, {"100 %"}});
    return table.text(style);
}

std::string paragraph(const std::string& text, const TextStyle& style, int indent) {
    std::string out;
    for (const std::string& line : wrapped(text, std::max(20, style.columns - indent)))
        out += std::string(static_cast<std::size_t>(indent), ' ') + line + "\n";
    return out;
}

}  // namespace

std::string explanation_text(const verify::Explanation& why, const TextStyle& style) {
    const verify::CheckResult& check = why.check;
    const VerdictMark& mark = mark_of(check.verdict);
    std::string text = coloured(fmt::format("{} {}", mark.glyph, word(check.verdict)), std::string(mark.ansi), style) +
                       fmt::format("  {} {}\n", plan::word(check.kind), printable(check.subject));
    text += paragraph(sentence_case(printable(with_real_signs(check.says))), style, 2);
    if (check.value) text += fmt::format("  measured minus planned {}", value_of(check));
    if (check.value && check.tolerance) text += fmt::format(", limit {}", limit_of(check));
    if (check.value) text += "\n";
    if (!why.rule.empty()) text += paragraph(sentence_case(with_real_signs(why.rule)), style, 2);
    if (!check.advice.empty()) text += paragraph("> " + sentence_case(printable(check.advice)), style, 2);
    const std::string levels = compared_table(
        why.compared, 1, [](const verify::Compared& one) { return Row{one.level_db, one.planned_db, one.fitted_db}; }, style);
    if (!levels.empty()) text += "\nLevels in the aim band, dB\n" + levels;
    const std::string arrivals = compared_table(
        why.compared, 2, [](const verify::Compared& one) { return Row{one.arrival_ms, one.planned_ms, one.fitted_ms}; }, style);
    if (!arrivals.empty()) text += "\nFirst arrivals, ms\n" + arrivals;
    if (const std::string table = budget_table(why, style); !table.empty())
        text += "\nWhere the uncertainty comes from (squares add up)\n" + table;
    return text;
}

std::string teaching_text(const GlossaryEntry& entry, const TextStyle& style) {
    std::string text = joined(entry.words) + "\n";
    TextTable table({{"", Align::left, 12}, {"", Align::left, 80, true}});
    for (const GlossaryPart& part : entry.parts) table.add({{part.name}, {part.text}});
    return text + table.text(style);
}

}  // namespace proofwalk::report
