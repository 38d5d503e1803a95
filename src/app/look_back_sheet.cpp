// Look back: earlier logs side by side, what was skipped and signed, and how a figure drifts from show to show.
#include <fmt/format.h>

#include "app/look_back_panes.hpp"
#include "report/figures.hpp"
#include "report/verdict_marks.hpp"
#include "report/wording.hpp"

namespace proofwalk::app {
namespace {

namespace fs = std::filesystem;

// The logs that this window has opened, and those that lie beside the present one.
std::vector<fs::path> logs_to_read(const Stage& stage) {
    std::vector<fs::path> logs = stage.state.settings.recent;
    std::error_code error;
    const fs::path folder = stage.records()->log_file.parent_path();
    for (const auto& entry : fs::directory_iterator{folder.empty() ? fs::path{"."} : folder, error})
        if (entry.path().extension() == ".db" && is_log(entry.path())) logs.push_back(entry.path());
    std::vector<fs::path> once;
    for (const auto& log : logs) {
        const fs::path full = fs::weakly_canonical(log, error);
        if (fs::exists(full, error) && std::ranges::find(once, full) == once.end()) once.push_back(full);
    }
    return once;
}

void draw_show(const Stage& stage, Rect row, const walk::PastShow& past) {
    Ink& ink = stage.ink();
    Rect room = row.inset(stage.px(6.0F), stage.px(2.0F));
    Rect upper = cut_top(room, 0.5F * room.height());
    ink.text_in(upper, Size::body, stage.paper().ink, past.plan_name + (past.rehearsed ? ", rehearsed" : ""));
    float x = room.min.x;
    for (const auto& mark : report::verdict_marks) {
        ink.mark({x + stage.px(6.0F), room.centre().y}, stage.px(4.0F), mark.verdict);
        const std::string number = std::to_string(report::count_of(past.counts, mark.verdict));
        ink.text({x + stage.px(14.0F), room.centre().y - 0.5F * ink.line_height(Size::small)}, Size::small, stage.paper().ink, number);
        x += stage.px(48.0F);
    }
    ink.text_in({{x, room.min.y}, room.max}, Size::small, stage.paper().faint,
                fmt::format("{}{} takes, {} again, {} skips, {} signed", past.when ? to_text(*past.when).substr(0, 10) + ", " : "", past.takes, past.repeats, past.skips.size(), past.sign_offs.size()));
    ink.line({row.min.x, row.max.y}, row.max, with_alpha(stage.paper().hairline, 140));
}

void draw_drift(const Stage& stage, Rect rect, const walk::LookBack& past) {
    State& state = stage.state;
    const walk::Drift* shown = nullptr;
    for (const auto& drift : past.drifts)
        if (state.check && drift.kind == state.check->kind && drift.subject == state.check->subject) shown = &drift;
    if (shown == nullptr)
        for (const auto& drift : past.drifts)
            if (shown == nullptr || (drift.subject == state.box && shown->subject != state.box)) shown = &drift;
    if (shown == nullptr) {
        stage.ink().wrapped(rect, Size::body, stage.paper().faint, "A figure that stands in two logs or more is drawn here over the shows.");
        return;
    }
    Plot plot;
    plot.title = fmt::format("{} of {} over shows{}; ribbon: expanded uncertainty", plan::word(shown->kind), shown->subject, shown->drifts ? ": it drifts" : "");
    plot.log_x = false;
    plot.y_unit = shown->unit == "deg" ? "\u00b0" : shown->unit;
    PlotCurve curve{shown->subject, {}, {}, {}, 0, false};
    std::vector<double> reach = {0.0};
    for (const auto& point : shown->points) {
        curve.x.push_back(static_cast<double>(point.show));
        curve.y.push_back(point.figure.value);
        curve.u.push_back(point.figure.u);
        reach.push_back(point.figure.value + point.figure.u);
        reach.push_back(point.figure.value - point.figure.u);
    }
    for (std::size_t i = 0; i < past.shows.size(); ++i) plot.x_names.push_back(past.shows[i].when ? to_text(*past.shows[i].when).substr(5, 5) : std::to_string(i + 1));
    plot.x = {-0.5, static_cast<double>(past.shows.size()) - 0.5};
    plot.y = comfortable(reach, 1.0, 2.0);
    plot.curves.push_back(std::move(curve));
    static PlotView view;
    view = {};
    draw_plot(stage.ui, "drift", rect, plot, view);
}

// What drifts more than its uncertainty explains; a press draws it below.
void draw_drifts(const Stage& stage, Rect& rest, const walk::LookBack& past) {
    Ink& ink = stage.ink();
    std::size_t drifting = 0;
    for (const auto& drift : past.drifts) drifting += drift.drifts ? 1 : 0;
    if (past.drifts.empty()) return;
    ink.text_in(cut_top(rest, stage.px(24.0F)), Size::small, stage.paper().faint, drifting == 0 ? "No figure drifts more than its uncertainty explains" : "Drifts more than its uncertainty explains");
    constexpr std::size_t most = 4;
    std::size_t shown = 0;
    for (const auto& drift : past.drifts) {
        if (!drift.drifts || shown == most || rest.height() < stage.px(220.0F)) continue;
        ++shown;
        const Rect row = cut_top(rest, stage.px(24.0F));
        const auto& first = drift.points.front().figure;
        const auto& last = drift.points.back().figure;
        ink.text_in(row, Size::small, stage.paper().ink, fmt::format("{} of {}: {} in the first show, {} in the last", plan::word(drift.kind), drift.subject, report::with_unit(report::with_uncertainty(first.value, first.u, drift.unit), drift.unit),
                                                                      report::with_unit(report::with_uncertainty(last.value, last.u, drift.unit), drift.unit)));
        if (stage.ui.hovered(row)) ink.line({row.min.x, row.max.y}, row.max, stage.paper().ink);
        if (stage.ui.region(fmt::format("drift-{}", shown), row)) stage.select_check({drift.kind, drift.subject});
    }
    if (drifting > shown) ink.text_in(cut_top(rest, stage.px(20.0F)), Size::small, stage.paper().faint, fmt::format("and {} more; choose one on the tally", drifting - shown));
}

}  // namespace

void draw_look_back(const Stage& stage, Rect main, Rect actions) {
    const Records* show = stage.records();
    if (show == nullptr) return;
    State& state = stage.state;
    if (state.past_asked.lock() != stage.desk.records()) {
        state.past_asked = stage.desk.records();
        stage.desk.look_back(logs_to_read(stage));
    }
    Rect rest = main;
    if (!stage.desk.past()) {
        stage.ink().wrapped(rest, Size::body, stage.paper().faint, "Reading earlier logs.");
    } else {
        const walk::LookBack& past = *stage.desk.past();
        Rect left = cut_left(rest, 0.44F * main.width());
        cut_left(rest, stage.px(20.0F));
        stage.ink().text_in(cut_top(left, stage.px(26.0F)), Size::small, stage.paper().faint, past.shows.size() == 1 ? std::string{"one log"} : fmt::format("{} logs, newest last", past.shows.size()));
        stage.ui.list("past", left, past.shows.size(), stage.px(46.0F), state.past_list, [&](std::size_t i, Rect row, bool) { draw_show(stage, row, past.shows[i]); });
        draw_drifts(stage, rest, past);
        draw_drift(stage, cut_top(rest, past.drifts.empty() ? stage.px(48.0F) : 0.5F * rest.height()), past);
        cut_top(rest, stage.px(8.0F));
        if (state.past_list.selected && *state.past_list.selected < past.shows.size()) {
            const walk::PastShow& chosen = past.shows[*state.past_list.selected];
            std::string text = chosen.log_file.string() + "\n";
            for (const auto& skip : chosen.skips) text += fmt::format("skipped {} of {} by {}: {}\n", skip.check, skip.subject, skip.origin.who, skip.why);
            for (const auto& sign : chosen.sign_offs) text += fmt::format("signed by {}, {}: {}\n", sign.origin.who, sign.role, sign.hash);
            stage.ink().wrapped(rest, Size::small, stage.paper().ink, text);
        } else {
            draw_look_back_panes(stage, rest);
        }
    }
    Rect strip = actions;
    if (stage.ui.button("read-again", cut_left(strip, std::min(stage.px(170.0F), 0.3F * actions.width())), "Read again")) stage.desk.look_back(logs_to_read(stage));
    cut_left(strip, stage.px(8.0F));
    draw_note_button(stage, cut_left(strip, std::min(stage.px(120.0F), 0.24F * actions.width())));
}

}  // namespace proofwalk::app
