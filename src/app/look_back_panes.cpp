// What the look back says of this log in rows: its history, what was noted, and how long each step took against the plan.
#include "app/look_back_panes.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "report/figures.hpp"

namespace proofwalk::app {
namespace {

void rule(const Stage& stage, Rect row) { stage.ink().line({row.min.x, row.max.y}, row.max, with_alpha(stage.paper().hairline, 140)); }

void draw_history(const Stage& stage, Rect rest, const std::vector<report::EventLine>& history) {
    Ink& ink = stage.ink();
    stage.ui.list("history", rest, history.size(), stage.px(22.0F), stage.state.history_list, [&](std::size_t i, Rect row, bool) {
        const auto& event = history[history.size() - 1 - i];
        Rect room = row.inset(stage.px(4.0F), 0.0F);
        ink.text_in(cut_left(room, stage.px(104.0F)), Size::small, stage.paper().faint, fmt::format("{} {}", event.when.substr(5, 5), event.when.substr(11, 5)));
        ink.text_in(room, Size::small, stage.paper().ink, event.what + (event.who.empty() ? "" : ", " + event.who));
        rule(stage, row);
    });
}

void draw_notes(const Stage& stage, Rect rest, const std::vector<report::RemarkLine>& remarks) {
    Ink& ink = stage.ink();
    if (remarks.empty()) {
        ink.wrapped(rest, Size::body, stage.paper().faint, fmt::format("Nothing is noted yet. {} writes down a note or an incident, or attaches a photo, on every sheet.", stage.ui.keys().shown(Act::note)));
        return;
    }
    const float line = ink.line_height(Size::small);
    ListState& list = stage.state.notes_list;
    const bool pressed = stage.ui.list("notes", rest, remarks.size(), 2.0F * line + stage.px(6.0F), list, [&](std::size_t i, Rect row, bool) {
        const auto& remark = remarks[remarks.size() - 1 - i];
        Rect room = row.inset(stage.px(4.0F), stage.px(3.0F));
        ink.text_in(cut_top(room, line), Size::small, stage.paper().faint, fmt::format("{} {}", remark.when.substr(0, 10), remark.about));
        ink.text_in(room, Size::small, remark.what == "incident" ? stage.paper().fail : stage.paper().ink, remark_words(remark));
        rule(stage, row);
    });
    if (pressed && list.selected && !remarks[remarks.size() - 1 - *list.selected].file.empty()) open_photo(stage, remarks[remarks.size() - 1 - *list.selected]);
}

std::string minutes_of(double seconds) {
    const auto whole = static_cast<long>(std::lround(seconds));
    return fmt::format("{}:{:02}", whole / 60, whole % 60);
}

// A rule as long as a step was planned, hatched as long as it took.
void draw_times(const Stage& stage, Rect rest, const std::vector<walk::TimedStep>& steps) {
    Ink& ink = stage.ink();
    const Paper& paper = stage.paper();
    if (steps.empty()) {
        ink.wrapped(rest, Size::body, paper.faint, "Steps from one take to the next are timed on a real walk: predicted from the plan beside what they took.");
        return;
    }
    double planned = 0.0, took = 0.0, longest = 1.0;
    for (const auto& step : steps) {
        planned += step.planned_s();
        took += step.time.actual_s;
        longest = std::max({longest, step.planned_s(), step.time.actual_s});
    }
    const float line = ink.line_height(Size::small);
    ink.text_in(cut_top(rest, line + stage.px(4.0F)), Size::small, paper.ink, fmt::format("{} steps: {} predicted, {} taken (minutes:seconds; pauses are left out)", steps.size(), minutes_of(planned), minutes_of(took)));
    stage.ui.list("times", rest, steps.size(), line + stage.px(8.0F), stage.state.times_list, [&](std::size_t i, Rect row, bool) {
        const walk::TimedStep& step = steps[steps.size() - 1 - i];
        Rect room = row.inset(stage.px(4.0F), 0.0F);
        const Rect bars = cut_right(room, 0.34F * row.width());
        for (const double seconds : {step.time.actual_s, step.planned_s()}) {
            const Rect figure = cut_right(room, stage.px(48.0F));
            ink.text_right({figure.max.x - stage.px(6.0F), figure.centre().y - 0.5F * line}, Size::small, paper.ink, minutes_of(seconds));
        }
        ink.text_in(room, Size::small, paper.ink, fmt::format("{}  {} at {}{}", step.label, step.circuits.empty() ? std::string{"noise"} : fmt::format("{}", fmt::join(step.circuits, " ")), fmt::join(step.positions, " "),
                                                              step.carried == 0 ? "" : fmt::format(", {} carried", step.carried)));
        const auto reach = [&](double seconds) { return bars.min.x + static_cast<float>(seconds / longest) * bars.width(); };
        const float middle = bars.centre().y, half = stage.px(5.0F);
        ink.hatch({{bars.min.x, middle - half}, {reach(step.time.actual_s), middle + half}}, paper.faint, 5.0F);
        ink.line({bars.min.x, middle}, {reach(step.planned_s()), middle}, paper.ink, 2.0F);
        ink.line({reach(step.planned_s()), middle - half}, {reach(step.planned_s()), middle + half}, paper.ink, 1.0F);
        rule(stage, row);
    });
}

}  // namespace

void draw_look_back_panes(const Stage& stage, Rect rest) {
    static const std::vector<std::string> views = {"history", "notes", "times"};
    const Records& show = *stage.records();
    const Rect row = cut_top(rest, stage.px(32.0F));
    stage.ui.choice("look-back-view", {row.min, {row.min.x + std::min(stage.px(360.0F), row.width()), row.max.y}}, views, stage.state.look_back_view);
    if (stage.state.look_back_view == 1 && row.width() > stage.px(560.0F))
        stage.ink().text_in({{row.min.x + stage.px(376.0F), row.min.y}, row.max}, Size::small, stage.paper().faint, "Enter looks at a photo");
    cut_top(rest, stage.px(6.0F));
    if (stage.state.look_back_view == 0) draw_history(stage, rest, show.page.history);
    if (stage.state.look_back_view == 1) draw_notes(stage, rest, show.page.remarks);
    if (stage.state.look_back_view == 2) draw_times(stage, rest, show.steps_taken);
}

}  // namespace proofwalk::app
