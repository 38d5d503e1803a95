#include <fmt/format.h>

#include "app/sheets.hpp"
#include "report/verdict_marks.hpp"
#include "report/wording.hpp"

namespace proofwalk::app {
namespace {

void cell(const Stage& stage, Rect rect, std::string_view caption, std::string_view value, Size size = Size::body) {
    Ink& ink = stage.ink();
    const float edge = ink.px(0.5F);
    ink.line({rect.min.x, rect.min.y}, {rect.max.x, rect.min.y}, stage.paper().hairline);
    ink.line({rect.min.x + edge, rect.min.y}, {rect.min.x + edge, rect.max.y}, stage.paper().hairline);
    Rect room = rect.inset(stage.px(6.0F), stage.px(1.0F));
    ink.text_in(cut_top(room, ink.line_height(Size::small)), Size::small, stage.paper().faint, caption);
    ink.text_in(room, size, stage.paper().ink, value);
}

// Word, shape and number together; each narrows the tally to itself.
void counts(const Stage& stage, Rect rect, const verify::Counts& counted, bool words) {
    Ink& ink = stage.ink();
    Rect rest = rect;
    const float each = rect.width() / static_cast<float>(report::verdict_marks.size());
    for (const auto& mark : report::verdict_marks) {
        const Rect at = cut_left(rest, each);
        const int number = report::count_of(counted, mark.verdict);
        const std::string label = words ? fmt::format("{} {}", number, verify::word(mark.verdict)) : std::to_string(number);
        const float radius = stage.px(5.0F);
        ink.mark({at.min.x + stage.px(10.0F), at.centre().y}, radius, mark.verdict);
        ink.text_in({{at.min.x + stage.px(21.0F), at.min.y}, at.max}, Size::small, number > 0 ? stage.paper().ink : stage.paper().faint, label);
        if (stage.ui.hovered(at)) ink.line({at.min.x, at.max.y}, at.max, stage.paper().ink);
        if (stage.ui.region(fmt::format("count-{}", verify::word(mark.verdict)), at)) {
            stage.state.only = mark.verdict;
            stage.state.sheet = Sheet::tally;
        }
    }
}

std::string sign_state(const report::Show& page) {
    if (page.sign_offs.empty()) return "not signed";
    const auto& newest = page.sign_offs.back();
    return fmt::format("{}{} {}", newest.stale ? "stale: " : "signed: ", newest.who, report::short_hash(newest.hash));
}

std::string walkers(const Stage& stage, const report::Show& page) {
    if (!page.walked_by.empty()) return report::joined(page.walked_by);
    return stage.state.settings.who.empty() ? "nobody yet" : stage.state.settings.who;
}

// A line above the block's cells, on every sheet, until the gear is proven; a press leads to where that is done.
void draw_gear_warning(const Stage& stage, Rect row, const std::string& words) {
    Ink& ink = stage.ink();
    ink.mark({row.min.x + stage.px(10.0F), row.centre().y}, stage.px(4.5F), verify::Verdict::unsure);
    ink.text_in({{row.min.x + stage.px(21.0F), row.min.y}, row.max}, Size::small, stage.paper().ink, words);
    if (stage.ui.hovered(row)) ink.line({row.min.x, row.max.y}, row.max, stage.paper().ink);
    if (stage.ui.region("gear-warning", row)) stage.state.sheet = Sheet::gear;
}

}  // namespace

void draw_title_block(const Stage& stage, Rect rect, bool one_line) {
    Ink& ink = stage.ink();
    const Records* show = stage.records();
    if (show == nullptr) {
        cell(stage, rect, "proofwalk", "no show is open");
        ink.frame(rect, stage.paper().ink, 1.5F);
        return;
    }
    const report::Show& page = show->page;
    const std::string name = page.rehearsed ? page.plan.name + ", rehearsed" : page.plan.name;
    Rect rest = rect;
    if (!show->gear_warning.empty()) draw_gear_warning(stage, cut_top(rest, stage.px(one_line ? 19.0F : 22.0F)), show->gear_warning);
    if (one_line) {
        counts(stage, cut_right(rest, std::min(stage.px(212.0F), 0.58F * rect.width())), page.tally.counts(), false);
        const bool fits = ink.width(Size::body, name) < rest.width() - stage.px(12.0F);
        cell(stage, rest, fmt::format("rev {}, {}", page.plan_revision, report::short_hash(page.plan_sha256)), name, fits ? Size::body : Size::small);
        ink.frame(rect, stage.paper().ink, 1.5F);
        return;
    }
    const float row = rest.height() / 3.0F;
    Rect top = cut_top(rest, row), middle = cut_top(rest, row);
    const Rect plan_cell = cut_right(top, 0.34F * rect.width());
    cell(stage, top, "show", name);
    cell(stage, plan_cell, "plan", fmt::format("rev {}, {}", page.plan_revision, report::short_hash(page.plan_sha256)));
    const Rect signed_cell = cut_right(middle, 0.34F * rect.width());
    cell(stage, cut_left(middle, 0.4F * middle.width()), "walked by", walkers(stage, page));
    cell(stage, middle, "air", page.air, Size::small);
    cell(stage, signed_cell, "sign-off", sign_state(page));
    ink.line(rest.min, {rest.max.x, rest.min.y}, stage.paper().hairline);
    counts(stage, rest, page.tally.counts(), true);
    ink.frame(rect, stage.paper().ink, 1.5F);
}

}  // namespace proofwalk::app
