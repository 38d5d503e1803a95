// One check explained: what was compared, where its uncertainty comes from, by which rule it was decided, what to do; or what
// a check of its kind is, from the glossary.
#include <fmt/format.h>

#include <array>

#include "app/room_view.hpp"
#include "app/sheets.hpp"
#include "report/figures.hpp"
#include "report/glossary.hpp"
#include "report/wording.hpp"
#include "walk/live_take.hpp"

namespace proofwalk::app {
namespace {

// Paragraphs one under the other while there is room.
class Column {
public:
    Column(const Stage& stage, Rect rest) : stage_(stage), rest_(rest) {}
    void add(Size size, Colour colour, const std::string& text) {
        Ink& ink = stage_.ink();
        if (!text.empty() && rest_.height() >= ink.line_height(size)) cut_top(rest_, ink.wrapped(rest_, size, colour, text) + stage_.px(6.0F));
    }
    Rect& rest() { return rest_; }

private:
    const Stage& stage_;
    Rect rest_;
};

// Lengths are variances, so that lines add up to the whole.
void draw_budget(const Stage& stage, Rect rest, const std::vector<verify::BudgetLine>& budget, const std::string& unit) {
    Ink& ink = stage.ink();
    double sum = 0.0;
    for (const auto& line : budget) sum += line.u * line.u;
    const float line_height = stage.px(18.0F);
    if (!(sum > 0.0) || rest.height() < 2.0F * line_height) return;
    const float wide = rest.width();
    ink.text_in(cut_top(rest, line_height), Size::small, stage.paper().faint, "Where its uncertainty comes from (standard; lengths: share of the variance)");
    for (const auto& line : budget) {
        if (rest.height() < line_height) break;
        Rect row = cut_top(rest, line_height);
        ink.text_in(cut_left(row, 0.42F * wide), Size::small, stage.paper().ink, line.source);
        const Rect figure = cut_right(row, stage.px(84.0F));
        ink.text_right({figure.max.x, figure.min.y}, Size::small, stage.paper().ink, report::with_unit(report::fixed(line.u, report::decimals_of(line.u)), unit));
        const float length = static_cast<float>(line.u * line.u / sum) * (row.width() - stage.px(10.0F));
        const Rect bar{{row.min.x, row.centre().y - stage.px(4.0F)}, {row.min.x + std::max(1.0F, length), row.centre().y + stage.px(4.0F)}};
        ink.hatch(bar, stage.paper().faint, 4.0F);
        ink.frame(bar, stage.paper().ink);
    }
}

std::string figure_of(const std::optional<Measured>& figure, std::string_view unit) {
    return figure ? report::with_uncertainty(figure->value, figure->u, unit) : std::string{report::no_figure};
}
std::string figure_of(const std::optional<double>& figure, int decimals) {
    return figure ? report::fixed(*figure, decimals) : std::string{report::no_figure};
}

// What was compared: levels and arrivals as measured, as planned, and as the fitted hang gives them.
void draw_compared(const Stage& stage, Rect& rest, const std::vector<verify::Compared>& compared) {
    Ink& ink = stage.ink();
    const Paper& paper = stage.paper();
    const float line = stage.px(17.0F);
    constexpr std::array<float, 6> ends = {0.42F, 0.52F, 0.62F, 0.80F, 0.90F, 1.0F};
    if (compared.empty() || rest.height() < 4.0F * line) return;
    const auto cell = [&](Rect row, std::size_t i, std::string_view text, Colour colour) { ink.text_right({row.min.x + ends[i] * row.width(), row.min.y}, Size::small, colour, text); };
    Rect head = cut_top(rest, line);
    ink.text_in({head.min, {head.min.x + 0.24F * head.width(), head.max.y}}, Size::small, paper.faint, "compared");
    std::size_t c = 0;
    for (const char* name : {"level dB", "plan", "fit", "arrival ms", "plan", "fit"}) cell(head, c++, name, paper.faint);
    ink.line({rest.min.x, head.max.y}, head.max, paper.hairline);
    std::size_t shown = 0;
    for (const auto& one : compared) {
        if (shown == 7 || rest.height() < 5.0F * line) break;
        ++shown;
        const Rect row = cut_top(rest, line);
        const Colour colour = one.asked ? paper.ink : paper.faint;
        ink.text_in({row.min, {row.min.x + 0.26F * row.width(), row.max.y}}, Size::small, colour, fmt::format("{} at {}{}", one.circuit, one.position, one.left_out ? ", left out" : ""));
        const bool roomy = row.width() > stage.px(520.0F);
        cell(row, 0, roomy || !one.level_db ? figure_of(one.level_db, "dB") : report::fixed(one.level_db->value, 1), colour);
        cell(row, 1, figure_of(one.planned_db, 1), colour);
        cell(row, 2, figure_of(one.fitted_db, 1), colour);
        cell(row, 3, roomy || !one.arrival_ms ? figure_of(one.arrival_ms, "ms") : report::fixed(one.arrival_ms->value, 2), colour);
        cell(row, 4, figure_of(one.planned_ms, 2), colour);
        cell(row, 5, figure_of(one.fitted_ms, 2), colour);
    }
    if (shown < compared.size()) ink.text_in(cut_top(rest, line), Size::small, paper.faint, fmt::format("and {} more; pale: evidence for the fit", compared.size() - shown));
    cut_top(rest, stage.px(6.0F));
}

void draw_why(const Stage& stage, Rect rest, const verify::CheckResult& check) {
    const Paper& paper = stage.paper();
    const bool wide = rest.width() > stage.px(700.0F);
    const Rect drawing = cut_right(rest, wide ? 0.36F * rest.width() : 0.0F);
    if (wide) cut_right(rest, stage.px(18.0F));
    Column column{stage, rest};
    column.add(Size::head, paper.ink, report::sentence_case(check.says));
    if (!check.advice.empty()) {
        column.add(Size::head, paper.ink, report::sentence_case(check.advice) + ".");
        if (walk::asks_to_rig({&check, 1})) column.add(Size::small, paper.fail, walk::rigging_caution());
    }
    if (check.value) column.add(Size::body, paper.ink, fmt::format("Measured minus planned: {}. Tolerance: {}.", report::value_of(check), report::limit_of(check)));
    const verify::Explanation* why = stage.desk.explanation({check.kind, check.subject});
    if (why != nullptr) column.add(Size::small, paper.ink, report::sentence_case(why->rule) + ".");
    else if (check.probability) column.add(Size::small, paper.ink, fmt::format("Probability that it conforms: {}.", report::fixed(*check.probability, 3)));
    if (check.predicted_u) column.add(Size::small, paper.faint, fmt::format("Expected from the plan alone: standard uncertainty {}.", report::with_unit(report::fixed(*check.predicted_u, report::decimals_of(*check.predicted_u)), check.unit)));
    column.add(Size::small, paper.faint, fmt::format("{}{}", check.takes.empty() ? "No take yet" : "Takes " + report::joined(check.takes), check.positions.empty() ? "." : " at " + report::joined(check.positions) + "."));
    if (why != nullptr) draw_compared(stage, column.rest(), why->compared);
    draw_budget(stage, column.rest(), why != nullptr ? why->budget : check.budget, check.unit);
    if (!wide) return;
    RoomPicture picture;
    picture.layout = &stage.records()->room;
    picture.box = stage.state.box;
    picture.mics = check.positions;
    draw_room_view(stage, room_places(stage, drawing, *picture.layout, 1.0F, {}), picture);
}

void draw_teaching(const Stage& stage, Rect rest, const verify::CheckResult& check) {
    const report::GlossaryEntry* entry = report::glossary_entry(plan::word(check.kind));
    Column column{stage, rest};
    if (entry == nullptr) return column.add(Size::body, stage.paper().faint, "The glossary has no entry for it.");
    for (const auto& part : entry->parts) {
        if (!part.name.empty()) column.add(Size::small, stage.paper().faint, part.name);
        column.add(Size::body, stage.paper().ink, report::sentence_case(part.text));
    }
}

}  // namespace

void draw_explanation(const Stage& stage, Rect rest, const verify::CheckResult& check) {
    static const std::vector<std::string> views = {"why it came out so", "what it is"};
    const Rect row = cut_top(rest, stage.px(32.0F));
    stage.ui.choice("explain-view", {row.min, {row.min.x + std::min(stage.px(380.0F), row.width()), row.max.y}}, views, stage.state.explain_view);
    cut_top(rest, stage.px(8.0F));
    if (stage.state.explain_view == 0) draw_why(stage, rest, check);
    else draw_teaching(stage, rest, check);
}

}  // namespace proofwalk::app
