// Next: the whole walk as one path, and in large type what to do now.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include "app/room_view.hpp"
#include "app/sheets.hpp"
#include "report/wording.hpp"

namespace proofwalk::app {
namespace {

// Which mic goes where, and, where there is room, a drawing of where that is.
void draw_mic_places(const Stage& stage, Rect rect, const walk::Step& step) {
    Ink& ink = stage.ink();
    Rect rest = rect;
    const float row = stage.px(24.0F);
    for (std::size_t i = 0; i < step.positions.size() && rest.height() >= row; ++i) {
        Rect line = cut_top(rest, row);
        ink.line({line.min.x, line.max.y}, line.max, stage.paper().hairline);
        ink.text_in(cut_left(line, stage.px(54.0F)), Size::small, stage.paper().faint, fmt::format("mic {}", i + 1));
        const Rect flag = cut_left(line, std::max(stage.px(64.0F), 0.2F * rect.width()));
        ink.text_in(flag, Size::body, stage.paper().ink, step.positions[i]);
        ink.text_in(line, Size::small, stage.paper().ink, role_words(stage.records()->plan(), step.positions[i]));
    }
    if (rest.height() < stage.px(150.0F)) return;
    RoomPicture picture;
    picture.layout = &stage.records()->planned_room;
    picture.mics = step.positions;
    const auto boxes = stage.records()->plan().boxes_of(step.circuit);
    if (!boxes.empty()) picture.box = boxes.front()->id;
    draw_plan_view(stage, rest.inset(0.0F, stage.px(8.0F)), picture);
}

void draw_settles(const Stage& stage, Rect rect, const walk::Step& step) {
    std::string text;
    for (const auto& check : step.settles) text += (text.empty() ? "" : ", ") + name_of(check);
    stage.ink().wrapped(rect, Size::body, stage.paper().ink,
                        text.empty() ? "Settles nothing by itself: a later step completes it." : "Settles " + text + ".");
}

void draw_now(const Stage& stage, Rect rect, std::size_t index) {
    const Records& show = *stage.records();
    const walk::Step& step = show.path.steps[index];
    Ink& ink = stage.ink();
    Rect rest = rect;
    const std::size_t rounds = show.path.steps.back().round + 1;
    ink.text_in(cut_top(rest, stage.px(24.0F)), Size::body, stage.paper().faint,
                fmt::format("Step {} of {}, round {} of {}; {} left", index + 1, show.path.steps.size(), step.round + 1, rounds, about_minutes(show.path.left_s)));
    const std::string order = walk::instruction(show.path, index);
    const bool fits = ink.wrapped_height(rest.width(), Size::huge, order) < 0.45F * rest.height();
    const float used = ink.wrapped(rest, fits ? Size::huge : Size::head, stage.paper().ink, order);
    cut_top(rest, used + stage.px(10.0F));
    if (!step.circuit.empty()) {
        std::string patch;
        for (const plan::Box* box : show.plan().boxes_of(step.circuit)) {
            if (!box->patch.empty()) patch += (patch.empty() ? "" : "; ") + box->patch;
        }
        if (!patch.empty()) ink.text_in(cut_top(rest, stage.px(24.0F)), Size::body, stage.paper().faint, patch);
    }
    const float settles = std::min(ink.line_height(Size::body) * 3.0F + stage.px(8.0F), 0.4F * rest.height());
    const Rect settles_at = cut_bottom(rest, settles);
    draw_mic_places(stage, rest, step);
    draw_settles(stage, settles_at, step);
}

void draw_finished(const Stage& stage, Rect rect) {
    const auto counts = stage.records()->page.tally.counts();
    Rect rest = rect;
    cut_top(rest, stage.px(24.0F));
    const std::string text = stage.records()->path.steps.empty()
                                 ? "The plan asks for no take: it has no position that serves a box."
                                 : "Every step of the walk is taken or left out.";
    const float used = stage.ink().wrapped(rest, Size::huge, stage.paper().ink, text);
    cut_top(rest, used + stage.px(12.0F));
    stage.ink().wrapped(rest, Size::body, stage.paper().ink,
                        fmt::format("{} passed, {} failed, {} unsure, {} open, {} skipped. Look at the tally, settle what failed, then sign.",
                                    counts.pass, counts.fail, counts.unsure, counts.open, counts.skipped));
}

}  // namespace

void draw_next(const Stage& stage, Rect main, Rect actions) {
    const Records* show = stage.records();
    if (show == nullptr) return;
    const auto step = stage.step();
    Rect rest = main;
    const bool wide = main.width() > stage.px(700.0F);
    if (wide) {
        draw_path_notes(stage, cut_left(rest, std::min(0.32F * main.width(), stage.px(380.0F))));
        cut_left(rest, stage.px(28.0F));
    }
    rest = rest.inset(0.0F, stage.px(6.0F));
    if (step)
        draw_now(stage, rest, *step);
    else
        draw_finished(stage, rest);

    Rect strip = actions;
    if (step) {
        const walk::Step& now = show->path.steps[*step];
        const float width = std::min(stage.px(130.0F), 0.2F * actions.width());
        const Rect skip = cut_right(strip, width);
        cut_right(strip, stage.px(10.0F));
        const bool can_skip = !now.circuit.empty() && now.state != walk::StepState::done;
        if (stage.ui.button("skip-step", skip, "Leave out", Weight::normal, can_skip, stage.ui.keys().shown(Act::skip)) ||
            (can_skip && stage.ui.asked(Act::skip))) {
            stage.state.to_skip = walk::served_by(show->plan(), now);
            std::erase_if(stage.state.to_skip, [&](const walk::CheckName& name) {
                const auto* result = show->check(name);
                return result != nullptr && result->verdict != verify::Verdict::open;
            });
            stage.open_slip(Slip::skip);
        }
        const std::size_t last = show->path.steps.size() - 1;
        if (stage.ui.asked(Act::earlier) && *step > 0) stage.state.step = *step - 1;
        if (stage.ui.asked(Act::later) && *step < last) stage.state.step = *step + 1;
    }
    draw_go(stage, strip);
}

}  // namespace proofwalk::app
