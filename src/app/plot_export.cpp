#include "app/plot_export.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace proofwalk::app {
namespace {

std::string escaped(std::string_view text) {
    std::string result;
    for (const char c : text) {
        if (c == '&') result += "&amp;";
        else if (c == '<') result += "&lt;";
        else if (c == '>') result += "&gt;";
        else if (c == '"') result += "&quot;";
        else result += c;
    }
    return result;
}

// A field of CSV (RFC 4180).
std::string quoted(const std::string& text) {
    if (text.find_first_of(",\"\n") == std::string::npos) return text;
    std::string result = "\"";
    for (const char c : text) result += c == '"' ? std::string{"\"\""} : std::string{c};
    return result + "\"";
}

std::string hex(Colour colour) { return fmt::format("#{:02x}{:02x}{:02x}", colour & 0xFFU, (colour >> 8) & 0xFFU, (colour >> 16) & 0xFFU); }

std::string number(double value) { return std::isfinite(value) ? fmt::format("{:.9g}", value) : std::string{}; }

std::string polyline(const std::vector<Point>& points) {
    std::string text;
    for (const Point& point : points) text += fmt::format("{:.1f},{:.1f} ", point.x, point.y);
    return text;
}

}  // namespace

std::string plot_csv(const Plot& plot) {
    std::string text = fmt::format("curve,{}_{},{}_{},standard_uncertainty_{}\n", plot.log_x ? "frequency" : "x", plot.x_unit, plot.degrees_y ? "phase" : plot.log_x ? "level" : "y", plot.y_unit, plot.y_unit);
    std::ranges::replace(text, ' ', '_');
    for (std::size_t c = 0; c < plot.curves.size(); ++c) {
        const PlotCurve& curve = plot.curves[c];
        const std::string name = quoted(curve.label.empty() ? fmt::format("curve {}", c + 1) : curve.label);
        // A level that is missing keeps its row; where an angle wraps the pen was only lifted.
        for (std::size_t i = 0; i < std::min(curve.x.size(), curve.y.size()); ++i)
            if (std::isfinite(curve.y[i]) || !plot.degrees_y) text += fmt::format("{},{},{},{}\n", name, number(curve.x[i]), number(curve.y[i]), i < curve.u.size() ? number(curve.u[i]) : "");
    }
    return text;
}

std::string plot_svg(const Plot& plot, PaperKind kind, double width, double height) {
    const Paper& tones = paper(kind);
    const auto w = static_cast<float>(width), h = static_cast<float>(height);
    const Rect field{{60.0F, 34.0F}, {w - 120.0F, h - 40.0F}};
    const Scale across{plot.x, field.min.x, field.max.x, plot.log_x}, up{plot.y, field.max.y, field.min.y, false};
    std::string svg = fmt::format("<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0:.0f}\" height=\"{1:.0f}\" viewBox=\"0 0 {0:.0f} {1:.0f}\" "
                                  "font-family=\"DejaVu Sans Condensed, sans-serif\" font-size=\"12\">\n<rect width=\"100%\" height=\"100%\" fill=\"{2}\"/>\n",
                                  width, height, hex(tones.ground));
    const auto text = [&](float x, float y, std::string_view anchor, Colour colour, std::string_view words) {
        svg += fmt::format("<text x=\"{:.1f}\" y=\"{:.1f}\" text-anchor=\"{}\" fill=\"{}\">{}</text>\n", x, y, anchor, hex(colour), escaped(words));
    };
    const auto line = [&](Point a, Point b, Colour colour, std::string_view more = "") {
        svg += fmt::format("<line x1=\"{:.1f}\" y1=\"{:.1f}\" x2=\"{:.1f}\" y2=\"{:.1f}\" stroke=\"{}\" {}/>\n", a.x, a.y, b.x, b.y, hex(colour), more);
    };
    text(field.min.x, 20.0F, "start", tones.ink, plot.title);
    text(field.min.x - 8.0F, 20.0F, "end", tones.faint, plot.y_unit);
    text(field.max.x + 8.0F, field.max.y + 18.0F, "start", tones.faint, plot.x_unit);
    for (const Tick& tick : plot.log_x ? third_octave_ticks(across, 34.0F) : linear_ticks(across, 52.0F)) {
        const float x = across.place(tick.value);
        line({x, field.max.y}, {x, field.max.y + (tick.label.empty() ? 3.0F : 6.0F)}, tones.faint);
        if (tick.strong) line({x, field.min.y}, {x, field.max.y}, tones.hairline, "stroke-width=\"0.6\"");
        if (!tick.label.empty()) text(x, field.max.y + 18.0F, "middle", tones.faint, tick.label);
    }
    for (const Tick& tick : plot.degrees_y ? degree_ticks(up, 24.0F) : linear_ticks(up, 30.0F)) {
        const float y = up.place(tick.value);
        line({field.min.x, y}, {field.max.x, y}, tones.hairline, "stroke-width=\"0.6\"");
        text(field.min.x - 8.0F, y + 4.0F, "end", tones.faint, tick.label);
    }
    svg += fmt::format("<clipPath id=\"field\"><rect x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:.1f}\"/></clipPath>\n<g clip-path=\"url(#field)\">\n",
                       field.min.x, field.min.y, field.width(), field.height());
    for (const PlotCurve& curve : plot.curves) {
        const std::string colour = hex(tones.curves[curve.colour % tones.curves.size()]);
        if (curve.u.size() == curve.y.size() && !curve.u.empty()) {
            std::vector<Point> outline;
            for (std::size_t i = 0; i < curve.x.size(); ++i)
                if (std::isfinite(curve.y[i]) && std::isfinite(curve.u[i])) outline.push_back({across.place(curve.x[i]), up.place(curve.y[i] + curve.u[i])});
            for (std::size_t i = curve.x.size(); i-- > 0;)
                if (std::isfinite(curve.y[i]) && std::isfinite(curve.u[i])) outline.push_back({across.place(curve.x[i]), up.place(curve.y[i] - curve.u[i])});
            svg += fmt::format("<polygon points=\"{}\" fill=\"{}\" fill-opacity=\"0.2\"/>\n", polyline(outline), colour);
        }
        for (const auto& points : thinned(curve.x, curve.y, across, up))
            svg += fmt::format("<polyline points=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{}\"{}/>\n", polyline(points), colour, curve.dashed ? 1.2 : 1.8, curve.dashed ? " stroke-dasharray=\"6 4\"" : "");
    }
    float row = 0.0F;
    for (const PlotMark& mark : plot.marks) {
        const float x = across.place(mark.x);
        line({x, field.min.y}, {x, field.max.y}, tones.ink, mark.dashed ? "stroke-dasharray=\"5 4\"" : "");
        text(x + 4.0F, field.min.y + 14.0F + 14.0F * row, "start", tones.ink, mark.label);
        row = row < 6.0F ? row + 1.0F : 0.0F;
    }
    svg += "</g>\n";
    for (const PlotCurve& curve : plot.curves)
        for (std::size_t i = curve.x.size(); i-- > 0;)
            if (std::isfinite(curve.y[i]) && curve.x[i] <= plot.x.high) {
                text(field.max.x + 8.0F, std::clamp(up.place(curve.y[i]), field.min.y + 8.0F, field.max.y) + 4.0F, "start", tones.curves[curve.colour % tones.curves.size()], curve.label);
                break;
            }
    svg += fmt::format("<rect x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:.1f}\" fill=\"none\" stroke=\"{}\"/>\n</svg>\n", field.min.x, field.min.y, field.width(), field.height(), hex(tones.ink));
    return svg;
}

}  // namespace proofwalk::app
