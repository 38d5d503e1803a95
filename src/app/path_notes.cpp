// The path as numbered notes along the edge of the drawing: done ones struck and small, the present one large, later plain.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include "app/sheets.hpp"

namespace proofwalk::app {
namespace {

std::string note_of(const walk::Step& step) {
    if (step.circuit.empty()) return fmt::format("mics at {}; listen", fmt::join(step.positions, " "));
    return step.circuit;
}

}  // namespace

void draw_path_notes(const Stage& stage, Rect rect) {
    const Records* show = stage.records();
    if (show == nullptr) return;
    Ink& ink = stage.ink();
    const Paper& paper = stage.paper();
    const walk::Path& path = show->path;
    Rect rest = rect;
    const Rect head = cut_top(rest, stage.px(24.0F));
    ink.text_in(head, Size::small, paper.faint, fmt::format("Notes: the walk, {} of {} steps done", path.done, path.steps.size()));
    ink.line({rect.min.x, head.max.y}, {rect.max.x, head.max.y}, paper.hairline);
    const auto current = stage.step();
    ListState& list = stage.state.path_list;
    if (list.selected != current && !list.show_selected) {
        list.selected = current;
        list.show_selected = true;
    }
    const auto before = list.selected;
    stage.ui.list("path", rest, path.steps.size(), stage.px(26.0F), list, [&](std::size_t i, Rect row, bool) {
        const walk::Step& step = path.steps[i];
        const bool finished = step.state == walk::StepState::done || step.state == walk::StepState::left_out;
        const bool present = i == current;
        const Size size = present ? Size::body : Size::small;
        const Colour colour = finished && !present ? paper.faint : paper.ink;
        Rect room = row.inset(stage.px(6.0F), 0.0F);
        const Rect number = cut_left(room, stage.px(30.0F));
        ink.text_right({number.max.x - stage.px(6.0F), row.centre().y - 0.5F * ink.line_height(Size::small)}, Size::small, paper.faint, fmt::format("{}", i + 1));
        if (!step.circuit.empty()) cut_left(room, stage.px(10.0F));
        const std::string whole = note_of(step) + (step.state == walk::StepState::left_out ? " (left out)" : "");
        const std::string text = step.circuit.empty() ? ink.fitted(size, whole, room.width()) : ink.fitted_name(size, whole, room.width());
        ink.text_in(room, size, colour, text);
        if (finished) ink.line({room.min.x, row.centre().y}, {room.min.x + ink.width(size, text), row.centre().y}, colour);
        if (present) ink.line({row.min.x + stage.px(1.0F), row.min.y}, {row.min.x + stage.px(1.0F), row.max.y}, paper.ink, 3.0F);
        if (step.opens_round && i > 0) ink.line(row.min, {row.max.x, row.min.y}, paper.hairline);
    });
    if (list.selected != before && list.selected)
        stage.state.step = list.selected == path.now ? std::nullopt : list.selected;
}

}  // namespace proofwalk::app
