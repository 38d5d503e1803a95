#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "report/estimate.hpp"
#include "report/sheet_style.hpp"
#include "report/svg_canvas.hpp"

namespace proofwalk::report {
namespace {

constexpr double width = 900.0, margin = 60.0, tallest = 620.0;
constexpr double band_db = 3.0;  // of the map: from one tone of hatching to the next

struct Bounds {
    double u0 = std::numeric_limits<double>::infinity(), u1 = -u0, v0 = u0, v1 = -u0;
    void take(double u, double v) {
        u0 = std::min(u0, u);
        u1 = std::max(u1, u);
        v0 = std::min(v0, v);
        v1 = std::max(v1, v);
    }
};

std::string_view class_of(EstimateSketch::Kind kind) {
    switch (kind) {
        case EstimateSketch::Kind::audience: return "ground";
        case EstimateSketch::Kind::axis: return "axis-planned";
        case EstimateSketch::Kind::edge: return "edge";
        case EstimateSketch::Kind::box: return "box";
        case EstimateSketch::Kind::join: return "dimension-tick";
    }
    return "edge";
}

double step_for(double metres) {
    for (const double step : {0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0})
        if (step >= metres / 6.0) return step;
    return 200.0;
}

class Sketch {
public:
    explicit Sketch(const EstimateSketch& sketch) : sketch_(sketch) {
        for (const auto& stroke : sketch.strokes)
            for (const auto& [u, v] : stroke.points) bounds_.take(u, v);
        if (sketch.field)
            for (const auto& [u, v] : sketch.field->places) bounds_.take(u, v);
        const double wide = std::max(bounds_.u1 - bounds_.u0, 0.5), high = std::max(bounds_.v1 - bounds_.v0, 0.5);
        scale_ = std::min((width - 2 * margin) / wide, tallest / high);
        height_ = high * scale_ + 2 * margin + 30.0;
    }

    [[nodiscard]] std::string svg() const {
        SvgCanvas canvas(width, height_, "room", sketch_.title, sketch_.title + ", to scale, in metres");
        canvas.raw("<style>svg{background:var(--paper)}" + drawing_style() + "</style>");
        canvas.text("view-name", {margin, 28.0}, sketch_.title);
        if (sketch_.field) draw_field(canvas);
        for (const auto kind : {EstimateSketch::Kind::audience, EstimateSketch::Kind::edge, EstimateSketch::Kind::axis, EstimateSketch::Kind::join, EstimateSketch::Kind::box})
            for (const auto& stroke : sketch_.strokes)
                if (stroke.kind == kind) draw(canvas, stroke);
        draw_scale(canvas);
        return std::move(canvas).finished();
    }

private:
    [[nodiscard]] Pixel at(double u, double v) const {
        return {margin + (u - bounds_.u0) * scale_, margin + (bounds_.v1 - v) * scale_};
    }

    void draw(SvgCanvas& canvas, const EstimateSketch::Stroke& stroke) const {
        std::vector<Pixel> points;
        for (const auto& [u, v] : stroke.points) points.push_back(at(u, v));
        if (points.size() == 1)
            canvas.disc("flag-foot", points[0], 3.0);
        else
            canvas.path(class_of(stroke.kind), points);
        if (stroke.label.empty()) return;
        const Pixel end = points.back();
        const bool right = end.x > width - 2.5 * margin;
        canvas.text(stroke.kind == EstimateSketch::Kind::box ? "box-name" : "dimension-text", {end.x + (right ? -6.0 : 6.0), end.y - 6.0}, stroke.label,
                    right ? SvgCanvas::Anchor::end : SvgCanvas::Anchor::start);
    }

    // Steps of level as cells that get thinner the quieter they are: reads on paper and without colour.
    void draw_field(SvgCanvas& canvas) const {
        const auto& field = *sketch_.field;
        const double loudest = *std::ranges::max_element(field.db);
        for (std::size_t i = 0; i < field.db.size(); ++i) {
            const Pixel centre = at(field.places[i].first, field.places[i].second);
            const double below = std::floor((loudest - field.db[i]) / band_db);
            canvas.disc("flag-foot", centre, std::max(0.6, 5.5 - 1.1 * below));
        }
        canvas.text("dimension-text", {margin, height_ - 46.0}, fmt::format("each smaller dot: {:g} dB quieter; largest: within {:g} dB of the loudest place", band_db, band_db));
    }

    void draw_scale(SvgCanvas& canvas) const {
        const double step = step_for((width - 2 * margin) / scale_);
        const double y = height_ - 24.0;
        canvas.line("dimension", {margin, y}, {margin + step * scale_, y});
        for (const double x : {margin, margin + step * scale_}) canvas.line("dimension-tick", {x, y - 5.0}, {x, y + 5.0});
        canvas.text("dimension-text", {margin + step * scale_ + 8.0, y + 4.0}, fmt::format("{:g} m", step));
    }

    const EstimateSketch& sketch_;
    Bounds bounds_;
    double scale_ = 1.0, height_ = 400.0;
};

}  // namespace

std::optional<std::string> estimate_svg(const Estimate& estimate) {
    if (!estimate.sketch || (estimate.sketch->strokes.empty() && !estimate.sketch->field)) return std::nullopt;
    return Sketch(*estimate.sketch).svg();
}

}  // namespace proofwalk::report
