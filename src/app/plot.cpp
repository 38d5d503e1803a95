#include "app/plot.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "app/canvas.hpp"
#include "report/figures.hpp"

namespace proofwalk::app {
namespace {

struct Axes {
    Rect field;
    Scale across, up;
};

Axes axes_of(Ui& ui, Rect rect, const Plot& plot, const PlotView& view) {
    Axes axes;
    const float line = ui.ink().line_height(Size::small);
    axes.field = {{rect.min.x + ui.px(44.0F), rect.min.y + line + ui.px(6.0F)},
                  {rect.max.x - ui.px(96.0F), rect.max.y - line - ui.px(8.0F)}};
    axes.across = {view.x.value_or(plot.x), axes.field.min.x, axes.field.max.x, plot.log_x};
    axes.up = {view.y.value_or(plot.y), axes.field.max.y, axes.field.min.y, false};
    return axes;
}

void draw_grid(Ui& ui, const Axes& axes, const Plot& plot) {
    Ink& ink = ui.ink();
    const Paper& paper = ink.paper();
    const Rect& field = axes.field;
    const float line = ink.line_height(Size::small);
    std::vector<Tick> across;
    if (!plot.x_names.empty())
        for (std::size_t i = 0; i < plot.x_names.size(); ++i) across.push_back({static_cast<double>(i), plot.x_names[i], false});
    else
        across = plot.log_x ? third_octave_ticks(axes.across, ui.px(34.0F)) : linear_ticks(axes.across, ui.px(52.0F));
    for (const Tick& tick : across) {
        const float x = axes.across.place(tick.value);
        if (x < field.min.x - 1.0F || x > field.max.x + 1.0F) continue;
        if (tick.strong) ink.line({x, field.min.y}, {x, field.max.y}, paper.hairline);
        ink.line({x, field.max.y}, {x, field.max.y + ui.px(tick.label.empty() ? 3.0F : 6.0F)}, paper.faint);
        if (tick.label.empty()) continue;
        ink.dashed({x, field.min.y}, {x, field.max.y}, with_alpha(paper.hairline, 130), 1.0F, 1.0F, 5.0F);
        const float half = 0.5F * ink.width(Size::small, tick.label);
        ink.text({x - half, field.max.y + ui.px(6.0F)}, Size::small, paper.faint, tick.label);
    }
    for (const Tick& tick : plot.degrees_y ? degree_ticks(axes.up, ui.px(24.0F)) : linear_ticks(axes.up, ui.px(30.0F))) {
        const float y = axes.up.place(tick.value);
        ink.line({field.min.x, y}, {field.max.x, y}, tick.strong ? paper.faint : with_alpha(paper.hairline, 150));
        ink.text_right({field.min.x - ui.px(6.0F), y - 0.5F * line}, Size::small, paper.faint, tick.label);
    }
    ink.frame(field, paper.hairline);
    ink.text({field.min.x, field.min.y - line - ui.px(3.0F)}, Size::small, paper.ink, plot.title);
    ink.text_right({field.min.x - ui.px(6.0F), field.min.y - line - ui.px(3.0F)}, Size::small, paper.faint, plot.y_unit);
    ink.text({field.max.x + ui.px(20.0F), field.max.y + ui.px(6.0F)}, Size::small, paper.faint, plot.x_unit);
}

// Everything that the pixels of the curves depend on, as bytes.
std::string looks_of(const Plot& plot, const Axes& axes, const Paper& paper, float scale) {
    std::string looks;
    const auto add = [&](const auto* values, std::size_t count) { looks.append(reinterpret_cast<const char*>(values), count * sizeof(*values)); };
    for (const Scale* axis : {&axes.across, &axes.up}) {
        const std::array<double, 4> place = {axis->span.low, axis->span.high, static_cast<double>(axis->from), static_cast<double>(axis->to)};
        add(place.data(), place.size());
    }
    add(&scale, 1);
    add(paper.curves.data(), paper.curves.size());
    for (const PlotCurve& curve : plot.curves) {
        const std::array<std::size_t, 5> parts = {curve.x.size(), curve.y.size(), curve.u.size(), curve.colour, curve.dashed ? 1U : 0U};
        add(parts.data(), parts.size());
        for (const auto* values : {&curve.x, &curve.y, &curve.u}) add(values->data(), values->size());
    }
    return looks;
}

// The uncertainty as a pale band; on the print paper as strokes across it.
void draw_ribbon(Canvas& canvas, const Axes& axes, const PlotCurve& curve, Colour colour, const Paper& paper, float scale) {
    if (curve.u.size() != curve.y.size()) return;
    std::vector<Point> upper, lower;
    const auto lay = [&] {
        if (paper.kind == PaperKind::print) canvas.between(upper, lower, with_alpha(colour, 150), static_cast<int>(std::round(6.0F * scale)));
        else canvas.between(upper, lower, with_alpha(colour, paper.kind == PaperKind::hall ? 70 : 55));
        upper.clear();
        lower.clear();
    };
    for (std::size_t i = 0; i < std::min(curve.x.size(), curve.y.size()); ++i) {
        const double above = curve.y[i] + curve.u[i], below = curve.y[i] - curve.u[i];
        if (!std::isfinite(above) || !std::isfinite(below)) {
            lay();  // a gap in the line is one in its ribbon
            continue;
        }
        const float x = axes.across.place(curve.x[i]);
        upper.push_back({x, axes.up.place(above)});
        lower.push_back({x, axes.up.place(below)});
    }
    lay();
}

Pixels curves_in_pixels(const Plot& plot, Axes axes, const Paper& paper, float scale) {
    // From the whole pixel in which the field begins.
    const Point corner{std::floor(axes.field.min.x), std::floor(axes.field.min.y)};
    for (float* x : {&axes.across.from, &axes.across.to}) *x -= corner.x;
    for (float* y : {&axes.up.from, &axes.up.to}) *y -= corner.y;
    Canvas canvas{static_cast<int>(std::ceil(axes.field.max.x - corner.x)), static_cast<int>(std::ceil(axes.field.max.y - corner.y))};
    const auto colour_of = [&](const PlotCurve& curve) { return paper.curves[curve.colour % paper.curves.size()]; };
    for (const PlotCurve& curve : plot.curves) draw_ribbon(canvas, axes, curve, colour_of(curve), paper, scale);
    for (const PlotCurve& curve : plot.curves)
        for (const auto& line : thinned(curve.x, curve.y, axes.across, axes.up)) {
            if (curve.dashed) canvas.dashes(line, colour_of(curve), 1.2F * scale, 6.0F * scale, 4.0F * scale);
            else canvas.line(line, colour_of(curve), 1.8F * scale);
        }
    return canvas.pixels();
}

// Where each curve leaves the field on the right; (0, 0) for one that has nothing in it.
std::vector<Point> ends_of(const Plot& plot, const Axes& axes) {
    std::vector<Point> ends(plot.curves.size());
    for (std::size_t c = 0; c < plot.curves.size(); ++c) {
        const PlotCurve& curve = plot.curves[c];
        for (std::size_t i = std::min(curve.x.size(), curve.y.size()); i-- > 0 && ends[c] == Point{};) {
            const float x = axes.across.place(curve.x[i]);
            if (std::isfinite(curve.y[i]) && x <= axes.field.max.x && x >= axes.field.min.x) ends[c] = {x, axes.up.place(curve.y[i])};
        }
    }
    return ends;
}

// Labels at the ends of lines, pushed apart where they would cover each other.
void draw_labels(Ui& ui, const Axes& axes, const Plot& plot, const std::vector<Point>& ends) {
    Ink& ink = ui.ink();
    const float line = ink.line_height(Size::small);
    std::vector<std::size_t> order;
    for (std::size_t i = 0; i < plot.curves.size(); ++i)
        if (ends[i].x > 0.0F && !plot.curves[i].label.empty()) order.push_back(i);
    std::ranges::sort(order, {}, [&](std::size_t i) { return ends[i].y; });
    float free_from = axes.field.min.y - line;
    for (const std::size_t i : order) {
        const float y = std::clamp(ends[i].y - 0.5F * line, free_from, std::max(free_from, axes.field.max.y - line));
        free_from = y + line;
        const Colour colour = ink.paper().curves[plot.curves[i].colour % ink.paper().curves.size()];
        const float x = axes.field.max.x + ui.px(14.0F);
        ink.line({ends[i].x + ui.px(2.0F), ends[i].y}, {x - ui.px(3.0F), y + 0.5F * line}, with_alpha(colour, 160));
        ink.text({x, y}, Size::small, colour, ink.fitted(Size::small, plot.curves[i].label, ui.px(82.0F)));
    }
}

void draw_marks(Ui& ui, const Axes& axes, const Plot& plot) {
    Ink& ink = ui.ink();
    const Paper& paper = ink.paper();
    // A label stands at the top in the first of three rows that is free; a reflection whose label has no room keeps its cross.
    std::array<float, 3> free_from;
    free_from.fill(axes.field.min.x - 1.0F);
    for (const PlotMark& mark : plot.marks) {
        const float x = axes.across.place(mark.x);
        if (x < axes.field.min.x || x > axes.field.max.x) continue;
        if (mark.y) {
            const float y = axes.up.place(*mark.y), r = ui.px(4.0F);
            ink.line({x - r, y}, {x + r, y}, paper.ink, 1.4F);
            ink.line({x, y - r}, {x, y + r}, paper.ink, 1.4F);
        } else if (mark.dashed) {
            ink.dashed({x, axes.field.min.y}, {x, axes.field.max.y}, paper.ink);
        } else {
            ink.line({x, axes.field.min.y}, {x, axes.field.max.y}, paper.ink, 1.4F);
        }
        if (mark.label.empty()) continue;
        const auto row = std::ranges::find_if(free_from, [&](float from) { return x >= from; });
        if (row == free_from.end()) continue;
        // Right of its line, left of it where the drawing ends; on a plate, so that no curve runs through it.
        const float whole = ink.width(Size::small, mark.label), line = ink.line_height(Size::small);
        const bool left = x + whole + ui.px(8.0F) > axes.field.max.x && x - whole - ui.px(8.0F) >= axes.field.min.x;
        const std::string label = left ? mark.label : ink.fitted(Size::small, mark.label, axes.field.max.x - x - ui.px(8.0F));
        if (label.empty()) continue;
        const float wide = ink.width(Size::small, label);
        *row = left ? axes.field.max.x : x + ui.px(10.0F) + wide;
        const Point at{left ? x - wide - ui.px(4.0F) : x + ui.px(4.0F), axes.field.min.y + static_cast<float>(row - free_from.begin()) * line + ui.px(1.0F)};
        ink.fill({{at.x - ui.px(1.0F), at.y}, {at.x + wide + ui.px(1.0F), at.y + line}}, with_alpha(paper.ground, 215));
        ink.text(at, Size::small, paper.ink, label);
    }
}

void draw_cursor(Ui& ui, const Axes& axes, const Plot& plot, double at) {
    Ink& ink = ui.ink();
    const Paper& paper = ink.paper();
    const float x = axes.across.place(at), line = ink.line_height(Size::small);
    if (x < axes.field.min.x || x > axes.field.max.x) return;
    ink.dashed({x, axes.field.min.y}, {x, axes.field.max.y}, paper.ink, 1.0F, 2.0F, 3.0F);
    struct Line {
        std::string text;
        Colour colour;
    };
    std::vector<Line> lines;
    if (plot.x_names.empty())
        lines.push_back({plot.log_x ? fmt::format("{} Hz", report::fixed(at, at < 100.0 ? 1 : 0))
                                    : fmt::format("{} {}", report::fixed(at, 2), plot.x_unit), paper.ink});
    float wide = 0.0F;
    for (const PlotCurve& curve : plot.curves) {
        const auto value = value_at(curve.x, curve.y, at, plot.log_x);
        if (!value) continue;
        const Colour colour = paper.curves[curve.colour % paper.curves.size()];
        const auto u = curve.u.size() == curve.x.size() ? value_at(curve.x, curve.u, at, plot.log_x) : std::nullopt;
        lines.push_back({fmt::format("{} {} {}", curve.label, report::with_uncertainty(*value, u, plot.y_unit), plot.y_unit), colour});
        ink.ring({x, axes.up.place(*value)}, ui.px(3.0F), colour, 1.5F);
    }
    for (const Line& each : lines) wide = std::max(wide, ink.width(Size::small, each.text));
    const bool left = x + wide + ui.px(20.0F) > axes.field.max.x;
    Rect box;
    box.min = {left ? x - wide - ui.px(18.0F) : x + ui.px(6.0F), axes.field.max.y - ui.px(8.0F) - line * static_cast<float>(lines.size())};
    box.max = {box.min.x + wide + ui.px(12.0F), axes.field.max.y - ui.px(2.0F)};
    ink.fill(box, paper.ground);
    ink.frame(box, paper.hairline);
    for (std::size_t i = 0; i < lines.size(); ++i)
        ink.text({box.min.x + ui.px(6.0F), box.min.y + ui.px(3.0F) + line * static_cast<float>(i)}, Size::small, lines[i].colour, lines[i].text);
}

void follow_hand(Ui& ui, std::string_view id, const Axes& axes, const Plot& plot, PlotView& view) {
    const Ui::Drag drag = ui.drag(id, axes.field);
    if (ui.hovered(axes.field)) view.cursor_x = axes.across.value(drag.at.x);
    if (drag.step.x != 0.0F) {
        const float from = view.cursor_x ? axes.across.place(*view.cursor_x) : axes.field.centre().x;
        view.cursor_x = axes.across.value(std::clamp(from + drag.step.x * ui.px(6.0F), axes.field.min.x, axes.field.max.x - 1.0F));
    }
    if (drag.wheel != 0.0F) {
        const bool by_hand = ui.hovered(axes.field);
        view.x = zoomed(axes.across.span, std::pow(0.85, static_cast<double>(drag.wheel)), !by_hand && view.cursor_x ? *view.cursor_x : axes.across.value(drag.at.x), plot.log_x, plot.x);
    }
    if (drag.whole) view.x.reset();
    if (drag.active && drag.by.x != 0.0F && view.x)
        view.x = panned(*view.x, static_cast<double>(-drag.by.x / axes.field.width()), plot.log_x, plot.x);
    if (view.x == plot.x) view.x.reset();
}

}  // namespace

void draw_plot(Ui& ui, std::string_view id, Rect rect, const Plot& plot, PlotView& view) {
    Ink& ink = ui.ink();
    const Axes axes = axes_of(ui, rect, plot, view);
    if (axes.field.width() < ui.px(40.0F) || axes.field.height() < ui.px(30.0F)) return;
    follow_hand(ui, id, axes, plot, view);
    draw_grid(ui, axes, plot);
    ink.clip(axes.field);
    const auto& picture = ui.picture(id, looks_of(plot, axes, ink.paper(), ink.scale()), false, [&] { return curves_in_pixels(plot, axes, ink.paper(), ink.scale()); });
    const Point corner{std::floor(axes.field.min.x), std::floor(axes.field.min.y)};
    ink.picture({corner, {corner.x + std::ceil(axes.field.max.x - corner.x), corner.y + std::ceil(axes.field.max.y - corner.y)}}, picture);
    draw_marks(ui, axes, plot);
    ink.unclip();
    draw_labels(ui, axes, plot, ends_of(plot, axes));
    if (view.cursor_x) draw_cursor(ui, axes, plot, *view.cursor_x);
}

}  // namespace proofwalk::app
