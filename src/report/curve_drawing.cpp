#include "report/curve_drawing.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

#include "report/figures.hpp"
#include "report/label_places.hpp"
#include "report/svg_canvas.hpp"
#include "units/bands.hpp"

namespace proofwalk::report {
namespace {

constexpr double width = 480.0, height = 300.0;
constexpr Rectangle field{46.0, 22.0, 468.0, 258.0};
constexpr double text_size = 14.0;
constexpr double lowest_hz = 20.0, highest_hz = 20000.0;
constexpr double least_span_db = 30.0, most_span_db = 60.0;

struct Axis {
    double low = 0.0, high = 1.0;      // values at the ends
    double start = 0.0, end = 1.0;     // pixels at the ends
    [[nodiscard]] double at(double value) const { return start + (value - low) / (high - low) * (end - start); }
    [[nodiscard]] double inside(double value) const { return at(std::clamp(value, low, high)); }
};

double octaves(double hz) { return std::log2(hz); }

bool drawable(double hz, double db) { return std::isfinite(hz) && std::isfinite(db) && hz >= lowest_hz && hz <= highest_hz; }

// Steps of 10 dB that hold the curve's top, and what of its fall is worth seeing.
Axis level_axis(const signal::Curve& measured, const signal::Curve& planned) {
    double low = std::numeric_limits<double>::max();
    double high = std::numeric_limits<double>::lowest();
    for (const signal::Curve* curve : {&measured, &planned})
        for (std::size_t i = 0; i < curve->hz.size() && i < curve->db.size(); ++i)
            if (drawable(curve->hz[i], curve->db[i])) {
                low = std::min(low, curve->db[i]);
                high = std::max(high, curve->db[i]);
            }
    if (low > high) low = high = 0.0;
    high = 10.0 * std::ceil((high + 2.0) / 10.0);
    low = 10.0 * std::floor(std::max(low - 2.0, high - most_span_db) / 10.0);
    low = std::min(low, high - least_span_db);
    return {low, high, field.bottom, field.top};
}

// What the cursor needs to tell values from pixels.
std::string hover_data(std::pair<double, double> x_values, const Axis& y, std::string_view x_kind) {
    return fmt::format("data-field=\"{:.0f} {:.0f} {:.0f} {:.0f}\" data-x=\"{:.6g} {:.6g}\" data-y=\"{:.6g} {:.6g}\" {}", field.left,
                       field.top, field.right, field.bottom, x_values.first, x_values.second, y.low, y.high, x_kind);
}

void draw_levels(SvgCanvas& canvas, const Axis& axis) {
    for (double db = axis.low; db <= axis.high + 0.5; db += 10.0) {
        canvas.line("rule", {field.left, axis.at(db)}, {field.right, axis.at(db)});
        canvas.text("tick", {field.left - 6.0, axis.at(db) + 5.0}, fixed(db, 0), SvgCanvas::Anchor::end);
    }
}

// A tick at every third octave, a rule and a label at every octave.
void draw_frequencies(SvgCanvas& canvas, const Axis& axis) {
    for (std::size_t band = 0; band < band_count; ++band) {
        const double x = axis.at(octaves(nominal_hz[band]));
        const bool octave = band % 3 == 2;  // 31.5 Hz, 63 Hz ... 16 kHz
        if (octave) {
            canvas.line("rule", {x, field.top}, {x, field.bottom});
            canvas.text("tick", {x, field.bottom + 19.0}, short_hz(nominal_hz[band]), SvgCanvas::Anchor::middle);
        }
        canvas.line("tick-mark", {x, field.bottom}, {x, field.bottom + (octave ? 6.0 : 3.5)});
    }
}

void draw_ribbon(SvgCanvas& canvas, const signal::Curve& curve, const Axis& x, const Axis& y) {
    if (curve.u_db.size() != curve.db.size()) return;
    std::vector<Pixel> outline, back;
    for (std::size_t i = 0; i < curve.hz.size(); ++i) {
        if (!drawable(curve.hz[i], curve.db[i]) || !std::isfinite(curve.u_db[i])) continue;
        outline.push_back({x.at(octaves(curve.hz[i])), y.inside(curve.db[i] + 2.0 * curve.u_db[i])});
        back.push_back({x.at(octaves(curve.hz[i])), y.inside(curve.db[i] - 2.0 * curve.u_db[i])});
    }
    outline.insert(outline.end(), back.rbegin(), back.rend());
    canvas.path("ribbon", outline, true);
}

std::optional<Pixel> draw_curve(SvgCanvas& canvas, std::string_view style_class, std::string_view name,
                                const signal::Curve& curve, const Axis& x, const Axis& y) {
    std::vector<Pixel> points;
    for (std::size_t i = 0; i < curve.hz.size() && i < curve.db.size(); ++i)
        if (drawable(curve.hz[i], curve.db[i])) points.push_back({x.at(octaves(curve.hz[i])), y.inside(curve.db[i])});
    canvas.named_line(style_class, name, points);
    return points.empty() ? std::nullopt : std::optional(points.back());
}

// Names of the curves at the ends of their lines, apart from one another.
void draw_curve_names(SvgCanvas& canvas, std::optional<Pixel> measured, std::optional<Pixel> planned) {
    if (measured && planned && std::abs(measured->y - planned->y) < 16.0) {
        const double middle = (measured->y + planned->y) / 2.0;
        const bool above = measured->y <= planned->y;
        measured->y = middle + (above ? -8.0 : 8.0);
        planned->y = middle + (above ? 8.0 : -8.0);
    }
    const auto name = [&](std::string_view style_class, Pixel at, std::string_view text) {
        const double y = std::clamp(at.y + 5.0, field.top + 12.0, field.bottom - 4.0);
        canvas.text(style_class, {field.right - 3.0, y}, text, SvgCanvas::Anchor::end);
    };
    if (planned) name("name-planned", *planned, "planned");
    if (measured) name("name-measured", *measured, "measured");
}

// Where the gate begins to resolve: full sound on the left, direct sound on the right.
void draw_gate_limit(SvgCanvas& canvas, double direct_from_hz, const Axis& x) {
    if (!std::isfinite(direct_from_hz) || direct_from_hz <= 1.5 * lowest_hz || direct_from_hz >= highest_hz) return;
    const double at = x.at(octaves(direct_from_hz));
    canvas.line("gate-limit", {at, field.top}, {at, field.bottom});
    canvas.text("tick", {at - 5.0, field.top - 8.0}, "full sound", SvgCanvas::Anchor::end);
    canvas.text("tick", {at + 5.0, field.top - 8.0}, "direct sound");
}

void draw_frame(SvgCanvas& canvas) {
    canvas.rectangle("field", {field.left, field.top}, field.right - field.left, field.bottom - field.top);
}

struct Step {
    double at_ms, db;
};

// The highest level of each pixel column.
std::vector<Step> peaks(const BoxCurves& curves, const Axis& x) {
    std::vector<Step> steps;
    double column = -1.0;
    for (std::size_t i = 0; i < curves.impulse_s.size() && i < curves.impulse_db.size(); ++i) {
        const double at_ms = curves.impulse_s[i] * 1e3;
        if (!std::isfinite(at_ms) || !std::isfinite(curves.impulse_db[i]) || at_ms < x.low || at_ms > x.high) continue;
        const double here = std::floor(x.at(at_ms));
        if (here != column) steps.push_back({at_ms, curves.impulse_db[i]});
        steps.back().db = std::max(steps.back().db, curves.impulse_db[i]);
        column = here;
    }
    return steps;
}

double tick_ms(double span_ms) {
    for (const double step : {1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0})
        if (span_ms / step <= 9.0) return step;
    return 200.0;
}

void draw_times(SvgCanvas& canvas, const Axis& axis) {
    const double step = tick_ms(axis.high - axis.low);
    for (double ms = std::ceil(axis.low / step) * step; ms <= axis.high; ms += step) {
        canvas.line("rule", {axis.at(ms), field.top}, {axis.at(ms), field.bottom});
        canvas.line("tick-mark", {axis.at(ms), field.bottom}, {axis.at(ms), field.bottom + 6.0});
        canvas.text("tick", {axis.at(ms), field.bottom + 19.0}, fixed(ms, 0), SvgCanvas::Anchor::middle);
    }
}

void draw_arrival(SvgCanvas& canvas, const BoxCurves& curves, const Axis& x) {
    const double arrival = x.inside(curves.arrival_s * 1e3);
    const double gate = x.inside(curves.gate_end_s * 1e3);
    if (gate > arrival) canvas.rectangle("gate", {arrival, field.top}, gate - arrival, field.bottom - field.top);
    canvas.line("arrival", {arrival, field.top - 6.0}, {arrival, field.bottom});
    const std::string text = fmt::format("arrival {} ms{}", fixed(curves.arrival_s * 1e3, 2),
                                         gate > arrival ? fmt::format(", gate {} ms", fixed((curves.gate_end_s - curves.arrival_s) * 1e3, 1))
                                                        : "");
    canvas.text("name-arrival", {std::min(arrival, width - text_width(text, text_size) - 6.0), field.top - 9.0}, text);
}

void draw_reflections(SvgCanvas& canvas, const BoxCurves& curves, const Axis& x, const Axis& y) {
    LabelPlaces places(width, field.bottom);
    for (std::size_t i = 0; i < curves.reflections.size(); ++i) {
        const auto& reflection = curves.reflections[i];
        const double at_ms = (curves.arrival_s + reflection.after_s) * 1e3;
        if (!std::isfinite(at_ms) || !std::isfinite(reflection.level_db) || at_ms > x.high) continue;
        const Pixel at{x.at(at_ms), y.inside(reflection.level_db)};
        canvas.path("reflection", {{at.x - 4.0, at.y - 7.0}, at, {at.x + 4.0, at.y - 7.0}});
        const std::string surface = i < curves.surfaces.size() ? curves.surfaces[i] : "";
        const std::string text = fmt::format("{} dB{}{}", fixed(reflection.level_db, 0), surface.empty() ? "" : ", via ", surface);
        if (const auto place = places.near({at.x, at.y - 12.0}, text_width(text, 12.0), 13.0, 4.0))
            canvas.text("reflection-text", {place->x, place->y + 4.0}, text);
    }
}

}  // namespace

std::string magnitude_svg(const BoxCurves& curves) {
    if (curves.measured.hz.empty() && curves.planned.hz.empty()) return {};
    const Axis x{octaves(lowest_hz), octaves(highest_hz), field.left, field.right};
    const Axis y = level_axis(curves.measured, curves.planned);
    SvgCanvas canvas(width, height, "curve", fmt::format("Magnitude of {} at {} against the plan", curves.box, curves.position),
                     "Level in dB over frequency from 20 Hz to 20 kHz: the measured curve solid with two standard "
                     "uncertainties, the planned curve dashed.", hover_data({lowest_hz, highest_hz}, y, "data-log"));
    draw_levels(canvas, y);
    draw_frequencies(canvas, x);
    draw_gate_limit(canvas, curves.direct_from_hz, x);
    draw_ribbon(canvas, curves.measured, x, y);
    const auto planned_end = draw_curve(canvas, "curve-planned", "planned", curves.planned, x, y);
    const auto measured_end = draw_curve(canvas, "curve-measured", "measured", curves.measured, x, y);
    draw_frame(canvas);
    draw_curve_names(canvas, measured_end, planned_end);
    canvas.text("tick", {field.left - 6.0, field.top - 8.0}, "dB", SvgCanvas::Anchor::end);
    canvas.text("tick", {field.right, field.bottom + 37.0}, "frequency, Hz", SvgCanvas::Anchor::end);
    return std::move(canvas).finished();
}

std::string impulse_svg(const BoxCurves& curves) {
    if (curves.impulse_s.empty() || !std::isfinite(curves.arrival_s)) return {};
    const double arrival_ms = curves.arrival_s * 1e3;
    const double gate_ms = std::max(0.0, curves.gate_end_s * 1e3 - arrival_ms);
    const double first_ms = std::max(curves.impulse_s.front() * 1e3, arrival_ms - 4.0);
    const double last_ms = std::min(curves.impulse_s.back() * 1e3, arrival_ms + std::max(40.0, 1.5 * gate_ms));
    if (!(last_ms > first_ms)) return {};
    const Axis x{first_ms, last_ms, field.left, field.right};
    const Axis y{-60.0, 5.0, field.bottom, field.top};
    SvgCanvas canvas(width, height, "curve", fmt::format("Impulse response of {} at {}", curves.box, curves.position),
                     fmt::format("Level of the impulse response in dB re its peak over time after the reference; arrival at "
                                 "{} ms, {} reflections marked.",
                                 fixed(arrival_ms, 2), curves.reflections.size()),
                     hover_data({first_ms, last_ms}, y, "data-unit=\"ms\""));
    draw_arrival(canvas, curves, x);
    for (double db = -60.0; db <= 0.0; db += 10.0) {
        canvas.line("rule", {field.left, y.at(db)}, {field.right, y.at(db)});
        canvas.text("tick", {field.left - 6.0, y.at(db) + 5.0}, fixed(db, 0), SvgCanvas::Anchor::end);
    }
    draw_times(canvas, x);
    std::vector<Pixel> line;
    for (const Step& step : peaks(curves, x)) line.push_back({x.at(step.at_ms), y.inside(step.db)});
    canvas.named_line("curve-impulse", "", line);
    draw_reflections(canvas, curves, x, y);
    draw_frame(canvas);
    canvas.text("tick", {field.left - 6.0, field.top - 8.0}, "dB", SvgCanvas::Anchor::end);
    canvas.text("tick", {field.right, field.bottom + 37.0}, "time after the reference, ms", SvgCanvas::Anchor::end);
    return std::move(canvas).finished();
}

}  // namespace proofwalk::report
