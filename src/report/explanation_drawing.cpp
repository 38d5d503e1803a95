#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "report/explanation.hpp"
#include "report/figures.hpp"
#include "report/sheet_style.hpp"
#include "report/svg_canvas.hpp"
#include "report/verdict_marks.hpp"
#include "report/wording.hpp"

namespace proofwalk::report {
namespace {

constexpr double width = 900.0, left = 300.0, right = 860.0, top = 70.0;
constexpr double scale_height = 64.0, line_height = 20.0, gap = 34.0;
constexpr double shown = 2.5;  // tolerances to either side

double height_of(const verify::Explanation& why) {
    return scale_height + line_height * static_cast<double>(why.budget.size()) + gap;
}

// From deviation in tolerances to pixels; beyond the scale it stands at its end.
double across(double in_tolerances) {
    return left + (std::clamp(in_tolerances, -shown, shown) + shown) / (2.0 * shown) * (right - left);
}

void draw_scale(SvgCanvas& canvas, const verify::CheckResult& check, double y) {
    const double tolerance = *check.tolerance;
    canvas.rectangle("area", {across(-1.0), y - 16.0}, across(1.0) - across(-1.0), 32.0);
    canvas.line("rule", {left, y}, {right, y});
    for (const double at : {-1.0, 0.0, 1.0}) {
        canvas.line("dimension-tick", {across(at), y - 16.0}, {across(at), y + 16.0});
        const std::string label = at == 0.0 ? "as planned" : with_unit(fixed(at * tolerance, usual_decimals(check.unit), Sign::always), check.unit);
        canvas.text("tick", {across(at), y + 32.0}, label, SvgCanvas::Anchor::middle);
    }
    const double value = *check.value / tolerance, half = check.uncertainty.value_or(0.0) / tolerance;
    canvas.line("axis-fitted", {across(value - half), y}, {across(value + half), y});
    for (const double end : {value - half, value + half})
        if (std::abs(end) < shown) canvas.line("axis-fitted", {across(end), y - 7.0}, {across(end), y + 7.0});
    canvas.disc("box", {across(value), y}, 4.0);
}

void draw_budget(SvgCanvas& canvas, const verify::Explanation& why, double y) {
    double largest = 0.0;
    for (const verify::BudgetLine& line : why.budget) largest = std::max(largest, line.u);
    for (const verify::BudgetLine& line : why.budget) {
        canvas.text("tick", {left - 12.0, y + 12.0}, line.source, SvgCanvas::Anchor::end);
        const double length = largest > 0.0 ? 0.6 * (right - left) * line.u / largest : 0.0;
        canvas.rectangle("ribbon", {left, y + 2.0}, length, line_height - 7.0);
        canvas.text("tick", {left + length + 8.0, y + 12.0}, with_unit(fixed(line.u, decimals_of(line.u)), why.check.unit));
        y += line_height;
    }
}

}  // namespace

std::string explanations_svg(std::string_view title, const std::vector<verify::Explanation>& all) {
    double height = top;
    for (const verify::Explanation& why : all) height += height_of(why);
    SvgCanvas canvas(width, height, "room", title, "Deviations on the scale of their tolerances, and what their uncertainty is made of");
    canvas.raw("<style>svg{background:var(--paper)}" + drawing_style() + "</style>");
    canvas.text("view-name", {24.0, 32.0}, title);
    double y = top;
    for (const verify::Explanation& why : all) {
        const verify::CheckResult& check = why.check;
        canvas.text("box-name", {24.0, y + 4.0}, fmt::format("{} {}", plan::word(check.kind), check.subject));
        canvas.text("tick", {24.0, y + 22.0}, fmt::format("{} {}  {}", mark_of(check.verdict).glyph, word(check.verdict), value_of(check)));
        if (check.value && check.tolerance && *check.tolerance > 0.0) draw_scale(canvas, check, y);
        draw_budget(canvas, why, y + scale_height - 18.0);
        y += height_of(why);
    }
    return std::move(canvas).finished();
}

}  // namespace proofwalk::report
