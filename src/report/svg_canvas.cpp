#include "report/svg_canvas.hpp"

#include <fmt/format.h>

#include <cmath>
#include <iterator>

#include "report/text_width.hpp"

namespace proofwalk::report {
namespace {

// Pixels to a tenth, without a point where it is whole.
void append_number(std::string& out, double pixels) {
    const long tenths = std::isfinite(pixels) ? std::lround(pixels * 10.0) : 0;
    const long whole = std::abs(tenths) / 10;
    const long part = std::abs(tenths) % 10;
    if (tenths < 0) out += '-';
    if (whole != 0 || part == 0) fmt::format_to(std::back_inserter(out), "{}", whole);
    if (part != 0) fmt::format_to(std::back_inserter(out), ".{}", part);
}

void append_attribute(std::string& out, std::string_view name, double pixels) {
    out += ' ';
    out += name;
    out += "=\"";
    append_number(out, pixels);
    out += '"';
}

}  // namespace

std::string escaped(std::string_view text) {
    std::string out;
    const std::string safe = printable(text);
    out.reserve(safe.size());
    for (const char c : safe) switch (c) {
            case '&': out += "&amp;"; break;
            case '<': out += "&lt;"; break;
            case '>': out += "&gt;"; break;
            case '"': out += "&quot;"; break;
            case '\'': out += "&#39;"; break;
            default: out += c;
        }
    return out;
}

SvgCanvas::SvgCanvas(double width, double height, std::string_view style_class, std::string_view title,
                     std::string_view description, std::string_view data)
    : width_(width), height_(height) {
    svg_ = fmt::format("<svg class=\"{}\" xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {:.0f} {:.0f}\" role=\"img\"{}{}>"
                       "<title>{}</title><desc>{}</desc>\n",
                       style_class, width, height, data.empty() ? "" : " ", data, escaped(title), escaped(description));
}

void SvgCanvas::line(std::string_view style_class, Pixel from, Pixel to) {
    path(style_class, {from, to});
}

void SvgCanvas::path(std::string_view style_class, const std::vector<Pixel>& points, bool closed) {
    add_path(fmt::format("class=\"{}\"", style_class), points, closed);
}

void SvgCanvas::named_line(std::string_view style_class, std::string_view name, const std::vector<Pixel>& points) {
    add_path(fmt::format("class=\"{}\" data-name=\"{}\"", style_class, escaped(name)), points, false);
}

void SvgCanvas::open_group(std::string_view tip) { svg_ += fmt::format("<g><title>{}</title>\n", escaped(tip)); }
void SvgCanvas::close_group() { svg_ += "</g>\n"; }

void SvgCanvas::add_path(const std::string& attributes, const std::vector<Pixel>& points, bool closed) {
    if (points.size() < 2) return;
    svg_ += "<path " + attributes + " d=\"";
    for (std::size_t i = 0; i < points.size(); ++i) {
        svg_ += i == 0 ? "M" : i == 1 ? "L" : " ";
        append_number(svg_, points[i].x);
        svg_ += ' ';
        append_number(svg_, points[i].y);
    }
    svg_ += closed ? "Z\"/>\n" : "\"/>\n";
}

void SvgCanvas::rectangle(std::string_view style_class, Pixel corner, double width, double height) {
    svg_ += "<rect class=\"";
    svg_ += style_class;
    svg_ += '"';
    append_attribute(svg_, "x", corner.x);
    append_attribute(svg_, "y", corner.y);
    append_attribute(svg_, "width", width);
    append_attribute(svg_, "height", height);
    svg_ += "/>\n";
}

void SvgCanvas::disc(std::string_view style_class, Pixel centre, double radius) {
    svg_ += "<circle class=\"";
    svg_ += style_class;
    svg_ += '"';
    append_attribute(svg_, "cx", centre.x);
    append_attribute(svg_, "cy", centre.y);
    append_attribute(svg_, "r", radius);
    svg_ += "/>\n";
}

void SvgCanvas::text(std::string_view style_class, Pixel at, std::string_view text, Anchor anchor, double turned_deg) {
    svg_ += "<text class=\"";
    svg_ += style_class;
    svg_ += '"';
    append_attribute(svg_, "x", at.x);
    append_attribute(svg_, "y", at.y);
    if (anchor == Anchor::middle) svg_ += " text-anchor=\"middle\"";
    if (anchor == Anchor::end) svg_ += " text-anchor=\"end\"";
    if (turned_deg != 0.0) svg_ += fmt::format(" transform=\"rotate({:.0f} {:.1f} {:.1f})\"", turned_deg, at.x, at.y);
    svg_ += '>';
    svg_ += escaped(text);
    svg_ += "</text>\n";
}

void SvgCanvas::symbol(std::string_view name, Pixel centre, double size) {
    svg_ += fmt::format("<use href=\"#{}\"", name);
    append_attribute(svg_, "x", centre.x - size / 2.0);
    append_attribute(svg_, "y", centre.y - size / 2.0);
    append_attribute(svg_, "width", size);
    append_attribute(svg_, "height", size);
    svg_ += "/>\n";
}

void SvgCanvas::raw(std::string_view svg) { svg_ += svg; }

std::string SvgCanvas::finished() && {
    svg_ += "</svg>\n";
    return std::move(svg_);
}

}  // namespace proofwalk::report
