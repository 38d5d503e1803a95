// Next: the whole walk as one path, and in large type what to do now.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "app/room_view.hpp"
#include "app/sheets.hpp"
#include "report/figures.hpp"
#include "report/wording.hpp"
#include "units/utc.hpp"
#include "walk/corrections.hpp"
#include "walk/live_take.hpp"

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
        ink.name_in({flag.min, {flag.max.x - stage.px(6.0F), flag.max.y}}, Size::body, stage.paper().ink, step.positions[i]);
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

// Against the clock: what fits, and in plain words what stays unproven.
void draw_clock(const Stage& stage, Rect rect, const Clock& clock) {
    Ink& ink = stage.ink();
    Rect rest = rect;
    ink.line(rest.min, {rest.max.x, rest.min.y}, stage.paper().hairline);
    cut_top(rest, stage.px(6.0F));
    const auto paragraph = [&](Size size, Colour colour, const std::string& text) {
        if (!text.empty() && rest.height() >= ink.line_height(size)) cut_top(rest, ink.wrapped(rest, size, colour, text) + stage.px(4.0F));
    };
    const std::string fits = clock.takes == 0 ? fmt::format("No take fits into the {} min that are left.", report::fixed(std::floor(clock.minutes), 0))
                                              : fmt::format("{} {} into {} min and {} {}.", clock.takes, clock.takes == 1 ? "take fits" : "takes fit", report::fixed(clock.minutes, clock.minutes < 10.0 ? 1 : 0),
                                                                      clock.takes == 1 ? "needs" : "need", report::fixed(clock.seconds / 60.0, clock.minutes < 10.0 ? 1 : 0));
    paragraph(Size::body, stage.paper().ink, fits + (clock.unproven.empty() ? " Nothing stays unproven." : ""));
    if (clock.unproven.empty()) return;
    paragraph(Size::body, stage.paper().ink, fmt::format("{} ({} % of the risk is taken away.)", report::sentence_case(clock.risk), report::fixed(100.0 * clock.risk_removed, 0)));
    for (const auto& open : clock.unproven) {
        if (rest.height() < 2.0F * ink.line_height(Size::small)) {
            ink.text_in(cut_top(rest, ink.line_height(Size::small)), Size::small, stage.paper().faint, "and more: see the tally");
            break;
        }
        Rect row = cut_top(rest, ink.line_height(Size::small) + stage.px(1.0F));
        ink.mark({row.min.x + stage.px(6.0F), row.centre().y}, stage.px(4.0F), verify::Verdict::open);
        row.min.x += stage.px(18.0F);
        ink.text_in(row, Size::small, stage.paper().ink,
                    fmt::format("{} of {}: {}; a fault in {} of 100, heard by {} % of the audience", plan::word(open.check.kind), open.check.subject, open.why, report::fixed(100.0 * open.stake.likelihood, 0), report::fixed(100.0 * open.stake.people, 0)));
    }
}

// How long there is: five minutes a press, none is no clock.
void draw_minutes(const Stage& stage, Rect rect) {
    Settings& settings = stage.state.settings;
    const std::int64_t second = now().utc_s;
    double minutes = settings.until_utc_s ? std::max(0.0, std::round(static_cast<double>(*settings.until_utc_s - second) / 60.0)) : 0.0;
    if (!stage.ui.stepper("minutes", rect, settings.until_utc_s ? "minutes left" : "minutes left, none is no clock", minutes, 5.0, 0.0, 600.0, "min")) return;
    settings.until_utc_s = minutes > 0.0 ? std::optional{second + static_cast<std::int64_t>(minutes * 60.0)} : std::nullopt;
    stage.state.step.reset();
    stage.desk.refresh(settings);
}

// What failed is put right before anything is signed: what, and what to do.
void draw_corrections(const Stage& stage, Rect rect, const std::vector<walk::Correction>& corrections) {
    Ink& ink = stage.ink();
    Rect rest = rect;
    cut_top(rest, stage.px(24.0F));
    cut_top(rest, ink.wrapped(rest, Size::huge, stage.paper().ink, "Put right what failed, then record it.") + stage.px(12.0F));
    for (const walk::Correction& correction : corrections) {
        const verify::CheckResult& first = correction.failed.front();
        const std::string text = fmt::format("{}: {}", correction.subject, first.advice.empty() ? first.says : first.advice);
        const float height = ink.wrapped_height(rest.width() - stage.px(24.0F), Size::body, text);
        if (rest.height() < height + ink.line_height(Size::small)) {
            ink.text_in(cut_top(rest, ink.line_height(Size::small)), Size::small, stage.paper().faint, "and more: see the tally");
            break;
        }
        Rect row = cut_top(rest, height + stage.px(6.0F));
        ink.mark({row.min.x + stage.px(8.0F), row.min.y + 0.5F * ink.line_height(Size::body)}, stage.px(5.0F), verify::Verdict::fail);
        row.min.x += stage.px(24.0F);
        ink.wrapped(row, Size::body, stage.paper().ink, report::with_real_signs(text));
    }
    if (std::ranges::any_of(corrections, [](const walk::Correction& one) { return walk::asks_to_rig(one.failed); }))
        cut_top(rest, ink.wrapped(rest, Size::small, stage.paper().fail, walk::rigging_caution()) + stage.px(6.0F));
    if (rest.height() > ink.line_height(Size::body))
        ink.wrapped(rest, Size::body, stage.paper().faint, "Once recorded, its takes join the walk again. What is to stay as it is can be left out in the tally, with a reason.");
}

void draw_finished(const Stage& stage, Rect rect) {
    const auto counts = stage.records()->page.tally.counts();
    Rect rest = rect;
    cut_top(rest, stage.px(24.0F));
    const std::string text = stage.records()->clock && stage.records()->path.steps.empty() ? "No take that settles anything fits into the minutes left."
                             : stage.records()->path.steps.empty()
                                 ? "The plan asks for no take: it has no position that serves a box."
                                 : "Every step of the walk is taken or left out.";
    const float used = stage.ink().wrapped(rest, Size::huge, stage.paper().ink, text);
    cut_top(rest, used + stage.px(12.0F));
    const std::string then = stage.records()->planned.empty() ? "Put boxes and positions in on the design desk."
                             : counts.fail + counts.unsure + counts.open + counts.skipped == 0 ? "Nothing is left but to sign." : "Look at the tally, settle what failed, then sign.";
    stage.ink().wrapped(rest, Size::body, stage.paper().ink,
                        fmt::format("{} passed, {} failed, {} unsure, {} open, {} skipped. {}", counts.pass, counts.fail, counts.unsure, counts.open, counts.skipped, then));
    cut_top(rest, 3.0F * stage.ink().line_height(Size::body));
    if (rest.height() < stage.px(170.0F) || stage.records()->plan().boxes.empty()) return;
    RoomPicture picture;
    picture.layout = &stage.records()->room;
    picture.worst = &stage.records()->worst;
    draw_plan_view(stage, rest, picture);
}

}  // namespace

void draw_next(const Stage& stage, Rect main, Rect actions) {
    const Records* show = stage.records();
    if (show == nullptr) return;
    const auto step = stage.step();
    Rect rest = main;
    const bool wide = main.width() > stage.px(700.0F);
    if (wide) {
        Rect left = cut_left(rest, std::min(0.32F * main.width(), stage.px(380.0F)));
        draw_minutes(stage, cut_bottom(left, stage.px(56.0F)));
        cut_bottom(left, stage.px(8.0F));
        draw_path_notes(stage, left);
        cut_left(rest, stage.px(28.0F));
    }
    rest = rest.inset(0.0F, stage.px(6.0F));
    if (show->clock) draw_clock(stage, cut_bottom(rest, std::min(0.36F * rest.height(), stage.px(190.0F))), *show->clock);
    const auto corrections = step ? std::vector<walk::Correction>{} : walk::corrections(show->plan(), show->page.tally.checks);
    if (step)
        draw_now(stage, rest, *step);
    else if (!corrections.empty())
        draw_corrections(stage, rest, corrections);
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
    if (!corrections.empty()) {
        const Rect record = cut_right(strip, std::min(stage.px(220.0F), 0.3F * actions.width()));
        cut_right(strip, stage.px(10.0F));
        if (stage.ui.button("record-correction", record, "Record a correction", Weight::normal, true, stage.ui.keys().shown(Act::changed))) {
            stage.state.changed_subject = corrections.front().subject;
            stage.open_slip(Slip::change);
        }
    }
    draw_go(stage, strip);
}

}  // namespace proofwalk::app
