// Curves: what was heard against the plan, against siblings, before against after; the impulse response with its marks.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "app/plot_export.hpp"
#include "app/sheets.hpp"
#include "report/figures.hpp"

namespace proofwalk::app {
namespace {

constexpr std::array<double, 4> fractions = {3.0, 6.0, 12.0, 24.0};
enum Compare : std::size_t { with_plan, with_siblings, with_before };

using Curves = std::shared_ptr<const std::vector<walk::HeardCurve>>;

const walk::HeardCurve* newest(const Curves& curves) {
    if (!curves) return nullptr;
    for (const auto& curve : *curves)
        if (curve.newest) return &curve;
    return curves->empty() ? nullptr : &curves->back();
}

PlotCurve measured(const walk::HeardCurve& heard, std::string label, std::size_t colour) {
    const signal::Curve& curve = heard.curves.measured;
    return {std::move(label), curve.hz, curve.db, curve.u_db, colour, false};
}

// What the box is made for fills the drawing; what lies outside its range may leave it.
void fit_levels(Plot& plot, plan::Band range) {
    std::vector<double> all;
    for (const auto& curve : plot.curves)
        for (std::size_t i = 0; i < curve.y.size(); ++i)
            if (curve.x[i] >= range.low_hz && curve.x[i] <= range.high_hz) all.push_back(curve.y[i]);
    plot.y = comfortable(all, 10.0, 30.0);
    plot.y.low = std::max(plot.y.low, plot.y.high - 60.0);
}

// The newest curve of each box of the same model, as many as there are colours left.
template <class Add>
void for_each_sibling(const Stage& stage, const plan::Box& box, Add add) {
    auto& known = stage.state.siblings;
    if (known.records != stage.desk.records() || known.box != box.id) known = {stage.desk.records(), box.id, walk::siblings(stage.records()->plan(), box.id)};
    std::size_t colour = 1;
    for (const auto& sibling : known.places) {
        if (colour >= stage.paper().curves.size()) break;
        if (!stage.records()->heard.contains(sibling.circuit)) continue;
        const Curves others = stage.desk.curves({sibling.circuit, sibling.position, fractions[stage.state.smoothing]});
        if (const auto* other = newest(others)) add(*other, sibling.box, colour++);
    }
}

Plot magnitude_plot(const Stage& stage, const plan::Box& box, const std::string& position, const Curves& curves) {
    const State& state = stage.state;
    Plot plot;
    plot.title = fmt::format("{} at {}, magnitude re the reference; ribbon: standard uncertainty", box.id, position);
    plot.x_unit = "Hz";
    plot.y_unit = "dB";
    const walk::HeardCurve* now = newest(curves);
    if (now == nullptr) return plot;
    if (now->reading.calibrated) plot.y_unit = "dB SPL";
    plot.curves.push_back(measured(*now, box.id, 0));
    if (state.compare == with_plan && !now->curves.planned.hz.empty())
        plot.curves.push_back({"plan", now->curves.planned.hz, now->curves.planned.db, {}, 4, true});
    if (state.compare == with_siblings)
        for_each_sibling(stage, box, [&](const auto& heard, const std::string& name, std::size_t colour) { plot.curves.push_back(measured(heard, name, colour)); });
    if (state.compare == with_before)
        for (std::size_t i = curves->size(); i-- > 0 && plot.curves.size() < 4;)
            if (&(*curves)[i] != now) plot.curves.push_back(measured((*curves)[i], "before: " + (*curves)[i].curves.take, plot.curves.size()));
    fit_levels(plot, stage.records()->plan().model_of(box).range_hz);
    if (now->reading.gate_resolves_from_hz > plot.x.low)
        plot.marks.push_back({now->reading.gate_resolves_from_hz, "direct sound from here up, below with the room", true, {}});
    return plot;
}

// The line is lifted where the angle wraps, or it would cross the drawing.
PlotCurve phase_of(const walk::HeardCurve& heard, std::string label, std::size_t colour) {
    const signal::PhaseCurve& phase = heard.phase;
    PlotCurve curve{std::move(label), {}, {}, {}, colour, false};
    for (std::size_t i = 0; i < phase.hz.size(); ++i) {
        if (i > 0 && std::abs(phase.deg[i] - phase.deg[i - 1]) > 180.0) {
            curve.x.push_back(std::sqrt(phase.hz[i] * phase.hz[i - 1]));
            curve.y.push_back(NAN);
            curve.u.push_back(NAN);
        }
        curve.x.push_back(phase.hz[i]);
        curve.y.push_back(phase.deg[i]);
        curve.u.push_back(phase.u_deg[i]);
    }
    return curve;
}

Plot phase_plot(const Stage& stage, const plan::Box& box, const Curves& curves, const walk::HeardCurve& now) {
    Plot plot;
    plot.title = "Phase, the arrival's delay taken out; ribbon: standard uncertainty from noise";
    plot.x_unit = "Hz";
    plot.y_unit = "deg";
    plot.degrees_y = true;
    plot.y = {-190.0, 190.0};
    plot.curves.push_back(phase_of(now, box.id, 0));
    std::size_t colour = 1;
    if (stage.state.compare == with_siblings)
        for_each_sibling(stage, box, [&](const auto& heard, const std::string& name, std::size_t its) { plot.curves.push_back(phase_of(heard, name, its)); });
    if (stage.state.compare == with_before)
        for (std::size_t i = curves->size(); i-- > 0 && plot.curves.size() < 4;)
            if (&(*curves)[i] != &now) plot.curves.push_back(phase_of((*curves)[i], "before: " + (*curves)[i].curves.take, colour++));
    if (now.reading.gate_resolves_from_hz > plot.x.low)
        plot.marks.push_back({now.reading.gate_resolves_from_hz, "", true, {}});
    return plot;
}

Plot impulse_plot(const walk::HeardCurve& heard) {
    const report::BoxCurves& curves = heard.curves;
    Plot plot;
    plot.title = "Impulse response, level re its peak";
    plot.log_x = false;
    plot.x_unit = "ms";
    plot.y_unit = "dB";
    plot.y = {-70.0, 3.0};
    PlotCurve line{"", {}, curves.impulse_db, {}, 0, false};
    for (const double s : curves.impulse_s) line.x.push_back(s * 1e3);
    if (!line.x.empty()) plot.x = {line.x.front(), line.x.back()};
    plot.curves.push_back(std::move(line));
    plot.marks.push_back({curves.arrival_s * 1e3, fmt::format("arrival {} ms", report::fixed(curves.arrival_s * 1e3, 2)), false, {}});
    plot.marks.push_back({curves.gate_end_s * 1e3, "gate ends", true, {}});
    for (std::size_t i = 0; i < curves.reflections.size(); ++i) {
        const auto& reflection = curves.reflections[i];
        const std::string surface = i < curves.surfaces.size() ? curves.surfaces[i] : "";
        plot.marks.push_back({(curves.arrival_s + reflection.after_s) * 1e3,
                              fmt::format("+{} ms{}{}", report::fixed(reflection.after_s * 1e3, 1), surface.empty() ? "" : ", via ", surface), true,
                              reflection.level_db});
    }
    std::ranges::sort(plot.marks, {}, &PlotMark::x);
    return plot;
}

// Every box that was heard, with the place where it was: the one list of this sheet.
void draw_list(const Stage& stage, Rect rect, const std::string& box_shown) {
    const Records& show = *stage.records();
    Ink& ink = stage.ink();
    const auto& boxes = show.plan().boxes;
    ListState& list = stage.state.curve_list;
    std::optional<std::size_t> now;
    for (std::size_t i = 0; i < boxes.size(); ++i)
        if (boxes[i].id == box_shown) now = i;
    if (list.selected != now) list.selected = now, list.show_selected = true;
    stage.ui.list("curve-boxes", rect, boxes.size(), stage.px(30.0F), list, [&](std::size_t i, Rect row, bool) {
        const bool heard = show.heard.contains(boxes[i].circuit);
        ink.text_in(row.inset(stage.px(6.0F), 0.0F), Size::body, heard ? stage.paper().ink : stage.paper().faint, heard ? boxes[i].id : boxes[i].id + ", not heard yet");
    });
    if (list.selected && list.selected != now) stage.select_box(boxes[*list.selected].id);
}

// The places that serve one of the circuit's boxes, and the chosen one; the others are chosen on the room sheet.
std::vector<std::string> places_of(const Stage& stage, const plan::Box& box) {
    const Records& show = *stage.records();
    auto places = walk::heard_at(show.plan(), show.page.readings, box.circuit);
    if (places.size() <= 6) return places;
    std::erase_if(places, [&](const std::string& id) {
        const plan::Position* position = show.plan().position(id);
        return id != stage.state.position && position != nullptr && std::ranges::none_of(position->serves, [&](const plan::Serve& serve) {
                   return std::ranges::find(serve.boxes, box.id) != serve.boxes.end();
               });
    });
    return places;
}

std::string place_to_show(const Stage& stage, const plan::Box& box, const std::vector<std::string>& places) {
    if (std::ranges::find(places, stage.state.position) != places.end()) return stage.state.position;
    const plan::Position* on_axis = stage.records()->plan().serving(plan::Role::on_axis, box.id);
    if (on_axis != nullptr && std::ranges::find(places, on_axis->id) != places.end()) return on_axis->id;
    return places.empty() ? std::string{} : places.front();
}

void draw_options(const Stage& stage, Rect rect, const std::vector<std::string>& places, const std::string& place) {
    static const std::vector<std::string> smoothings = {"1/3", "1/6", "1/12", "1/24"};
    static const std::vector<std::string> against = {"plan", "siblings", "before"};
    State& state = stage.state;
    Rect rest = rect;
    const Rect where = cut_left(rest, std::min(stage.px(90.0F) * static_cast<float>(std::max<std::size_t>(places.size(), 1)), 0.44F * rect.width()));
    auto chosen = static_cast<std::size_t>(std::ranges::find(places, place) - places.begin());
    if (stage.ui.choice("curve-place", where, places, chosen) && chosen < places.size()) state.position = places[chosen];
    cut_left(rest, stage.px(10.0F));
    const Rect left = cut_left(rest, 0.5F * rest.width());
    stage.ui.choice("compare", left, against, state.compare);
    cut_left(rest, stage.px(10.0F));
    stage.ui.choice("smoothing", rest, smoothings, state.smoothing);
}

bool stacked(const Stage& stage, float height, std::size_t plots) { return height > stage.px(165.0F) * static_cast<float>(plots); }

// One below the other, the magnitude the tallest; one at a time where the window is low.
void draw_plots(const Stage& stage, Rect rect, const std::vector<Plot>& plots) {
    State& state = stage.state;
    const bool all = stacked(stage, rect.height(), plots.size());
    const auto share = plots.size() == 2 ? 0.58F : 0.40F;
    Rect rest = rect;
    for (std::size_t i = 0; i < plots.size(); ++i) {
        if (!all && i != state.curve_view % plots.size()) continue;
        const bool last = i + 1 == plots.size();
        const Rect at = !all || last ? rest : cut_top(rest, i == 0 ? share * rect.height() : 0.5F * rest.height());
        const std::string_view name = i == 0 ? "magnitude" : last ? "impulse" : "phase";
        draw_plot(stage.ui, name, at, plots[i], last ? state.impulse_view : state.frequency_view);
    }
}

}  // namespace

void draw_curves(const Stage& stage, Rect main, Rect actions) {
    const Records* show = stage.records();
    if (show == nullptr) return;
    State& state = stage.state;
    const plan::Box* box = show->plan().box(state.box);
    if (box == nullptr && !show->plan().boxes.empty()) box = &show->plan().boxes.front();
    if (box == nullptr) {
        stage.ink().wrapped(main, Size::body, stage.paper().faint, "The plan has no boxes.");
        return;
    }
    Rect rest = main;
    if (main.width() > stage.px(640.0F)) {
        draw_list(stage, cut_left(rest, std::min(stage.px(190.0F), 0.24F * main.width())), box->id);
        cut_left(rest, stage.px(14.0F));
    }
    const auto places = places_of(stage, *box);
    const std::string place = place_to_show(stage, *box, places);
    draw_options(stage, cut_top(rest, stage.px(34.0F)), places, place);
    cut_top(rest, stage.px(6.0F));
    const Curves curves = place.empty() ? nullptr : stage.desk.curves({box->circuit, place, fractions[state.smoothing]});
    const walk::HeardCurve* now = newest(curves);
    std::vector<Plot> plots;
    if (now == nullptr) {
        stage.ink().wrapped(rest, Size::body, stage.paper().faint,
                            place.empty() ? fmt::format("{} was not heard yet. Its curves stand here after its first take.", box->id) : "Reading the curves.");
    } else {
        plots.push_back(magnitude_plot(stage, *box, place, curves));
        if (state.phase) plots.push_back(phase_plot(stage, *box, curves, *now));
        plots.push_back(impulse_plot(*now));
        draw_plots(stage, rest, plots);
    }
    Rect strip = actions;
    const float width = std::min(stage.px(150.0F), 0.25F * (actions.width() - 3.0F * stage.px(8.0F)));
    const bool narrow = width < stage.px(110.0F);
    if (stage.ui.button("export", cut_left(strip, width), narrow ? "To files" : "Write to files", Weight::normal, now != nullptr, stage.ui.keys().shown(Act::export_curves)) ||
        (now != nullptr && stage.ui.asked(Act::export_curves)))
        stage.desk.export_plots(plots, fmt::format("{}-{}", box->id, place), stage.paper().kind);
    cut_left(strip, stage.px(8.0F));
    if (stage.ui.button("whole-curve", cut_left(strip, width), narrow ? "Whole" : "Whole range")) {
        state.frequency_view = {};
        state.impulse_view = {};
    }
    cut_left(strip, stage.px(8.0F));
    if (stage.ui.button("phase", cut_left(strip, width), state.phase ? "No phase" : "Phase", Weight::normal, now != nullptr, stage.ui.keys().shown(Act::phase)) ||
        (now != nullptr && stage.ui.asked(Act::phase))) {
        state.phase = !state.phase;
        state.curve_view = state.phase ? 1 : 0;  // what was asked for, where one drawing has room
    }
    cut_left(strip, stage.px(8.0F));
    if (now != nullptr && !stacked(stage, rest.height(), plots.size()) && stage.ui.button("other-curve", cut_left(strip, width), narrow ? "Other" : "Next drawing"))
        state.curve_view = (state.curve_view + 1) % plots.size();
}

}  // namespace proofwalk::app
