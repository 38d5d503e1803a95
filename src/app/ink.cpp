#include "app/ink.hpp"

#include <imgui.h>

#include <array>
#include <cmath>
#include <numbers>
#include <vector>

#include "app/dashes.hpp"

namespace proofwalk::app {
namespace {

ImVec2 vec(Point p) { return {p.x, p.y}; }

Point between(Point a, Point b, float t) { return {a.x + t * (b.x - a.x), a.y + t * (b.y - a.y)}; }

const char* end_of(std::string_view text) { return text.data() + text.size(); }

}  // namespace

// Level and plumb lines lie on whole pixels, so that a hairline is a hairline.
void Ink::line(Point a, Point b, Colour colour, float width_px) {
    const float width = std::max(1.0F, std::round(px(width_px)));
    const bool level = a.y == b.y, plumb = a.x == b.x;
    if (level != plumb) {
        const float half = 0.5F * width;
        Rect bar = level ? Rect{{std::min(a.x, b.x), std::round(a.y - half)}, {std::max(a.x, b.x), std::round(a.y - half) + width}}
                         : Rect{{std::round(a.x - half), std::min(a.y, b.y)}, {std::round(a.x - half) + width, std::max(a.y, b.y)}};
        fill(bar, colour);
        return;
    }
    list_->AddLine(vec(a), vec(b), colour, width);
}

void Ink::dashed(Point a, Point b, Colour colour, float width_px, float dash_px, float gap_px) {
    const std::array<Point, 2> points = {a, b};
    dashed_path(points, colour, width_px, dash_px, gap_px);
}

void Ink::path(std::span<const Point> points, Colour colour, float width_px, bool closed) {
    static_assert(sizeof(Point) == sizeof(ImVec2));
    if (points.size() < 2) return;
    for (const Point& point : points) list_->PathLineTo(vec(point));
    list_->PathStroke(colour, closed ? ImDrawFlags_Closed : ImDrawFlags_None, std::max(1.0F, px(width_px)));
}

void Ink::dashed_path(std::span<const Point> points, Colour colour, float width_px, float dash_px, float gap_px) {
    const float width = std::max(1.0F, px(width_px));
    for_each_dash(points, px(dash_px), px(gap_px), [&](Point from, Point to) {
        if (from.x == to.x || from.y == to.y) line(from, to, colour, width_px);
        else list_->AddLine(vec(from), vec(to), colour, width);
    });
}

void Ink::frame(Rect rect, Colour colour, float width_px) {
    const Point a{std::round(rect.min.x), std::round(rect.min.y)}, b{std::round(rect.max.x), std::round(rect.max.y)};
    line(a, {b.x, a.y}, colour, width_px);
    line({a.x, b.y}, b, colour, width_px);
    line(a, {a.x, b.y}, colour, width_px);
    line({b.x, a.y}, b, colour, width_px);
}

void Ink::fill(Rect rect, Colour colour) { list_->AddRectFilled(vec(rect.min), vec(rect.max), colour); }

void Ink::fill_convex(std::span<const Point> points, Colour colour) {
    for (const Point& point : points) list_->PathLineTo(vec(point));
    list_->PathFillConvex(colour);
}

void Ink::ring(Point centre, float radius, Colour colour, float width_px) {
    list_->AddCircle(vec(centre), radius, colour, 0, std::max(1.0F, px(width_px)));
}

void Ink::disc(Point centre, float radius, Colour colour) { list_->AddCircleFilled(vec(centre), radius, colour); }

void Ink::hatch(Rect rect, Colour colour, float every_px) {
    if (rect.empty()) return;
    clip(rect);
    for (float x = rect.min.x - rect.height(); x < rect.max.x; x += px(every_px))
        line({x, rect.max.y}, {x + rect.height(), rect.min.y}, colour);
    unclip();
}

void Ink::picture(Rect rect, const Picture& picture) {
    list_->AddImage(reinterpret_cast<ImTextureID>(picture.number()), vec(rect.min), vec(rect.max));
}

void Ink::dimension(Point a, Point b, std::string_view figure) {
    const Colour colour = paper_->faint;
    line(a, b, colour);
    const float tick = px(4.0F);
    for (const Point end : {a, b}) line({end.x - tick, end.y + tick}, {end.x + tick, end.y - tick}, colour);
    const Point middle = between(a, b, 0.5F);
    const float half = 0.5F * width(Size::small, figure) + px(3.0F), height = line_height(Size::small);
    const Rect room{{middle.x - half, middle.y - 0.5F * height}, {middle.x + half, middle.y + 0.5F * height}};
    fill(room, paper_->ground);
    text_centred(room, Size::small, paper_->ink, figure);
}

void Ink::mark(Point centre, float radius, verify::Verdict verdict) {
    const Colour tone = paper_->tone(verdict);
    const float r = radius;
    switch (verdict) {
        case verify::Verdict::pass: disc(centre, r, tone); break;
        case verify::Verdict::fail: {
            const float d = 1.2F * r;
            const std::array<Point, 4> corners = {Point{centre.x, centre.y - d}, Point{centre.x + d, centre.y},
                                                  Point{centre.x, centre.y + d}, Point{centre.x - d, centre.y}};
            fill_convex(corners, tone);
            break;
        }
        case verify::Verdict::unsure: {
            std::vector<Point> half;
            for (int i = 0; i <= 12; ++i) {
                const float angle = std::numbers::pi_v<float> * (0.5F + static_cast<float>(i) / 12.0F);
                half.push_back({centre.x + r * std::cos(angle), centre.y + r * std::sin(angle)});
            }
            fill_convex(half, tone);
            ring(centre, r, tone, 1.4F);
            break;
        }
        case verify::Verdict::open: ring(centre, r, tone, 1.4F); break;
        case verify::Verdict::skipped:
            ring(centre, r, tone, 1.4F);
            line({centre.x - 1.3F * r, centre.y + 1.3F * r}, {centre.x + 1.3F * r, centre.y - 1.3F * r}, tone, 1.4F);
            break;
    }
}

float Ink::line_height(Size size) const { return std::round(1.25F * fonts_->face(size)->FontSize); }

float Ink::width(Size size, std::string_view text) const {
    fonts_->need(text);
    const ImFont* face = fonts_->face(size);
    return face->CalcTextSizeA(face->FontSize, FLT_MAX, 0.0F, text.data(), end_of(text)).x;
}

std::string Ink::fitted(Size size, std::string_view text, float room) const {
    if (width(size, text) <= room) return std::string{text};
    const float left = room - width(size, "\u2026");
    if (left <= 0.0F) return {};
    const ImFont* face = fonts_->face(size);
    const char* end = nullptr;
    face->CalcTextSizeA(face->FontSize, left, 0.0F, text.data(), end_of(text), &end);
    return std::string{text.data(), end} + "\u2026";
}

std::string Ink::fitted_name(Size size, std::string_view name, float room) const {
    if (width(size, name) <= room) return std::string{name};
    const auto is_inside = [&](std::size_t at) { return at < name.size() && (static_cast<unsigned char>(name[at]) & 0xC0U) == 0x80U; };
    for (std::size_t kept = name.size() - 1; kept > 0; --kept) {
        std::size_t head = kept / 2, tail = name.size() - (kept - head);
        while (is_inside(head)) --head;
        while (is_inside(tail)) ++tail;
        const std::string shown = std::string{name.substr(0, head)} + "\u2026" + std::string{name.substr(tail)};
        if (width(size, shown) <= room) return shown;
    }
    return fitted(size, name, room);
}

void Ink::name_in(Rect rect, Size size, Colour colour, std::string_view name) {
    text({rect.min.x, rect.centre().y - 0.5F * line_height(size)}, size, colour, fitted_name(size, name, rect.width()));
}

void Ink::text(Point top_left, Size size, Colour colour, std::string_view text) {
    if (text.empty()) return;
    fonts_->need(text);
    const ImFont* face = fonts_->face(size);
    const float lead = 0.5F * (line_height(size) - face->FontSize);
    list_->AddText(face, face->FontSize, {std::floor(top_left.x), std::floor(top_left.y + lead)}, colour, text.data(),
                   end_of(text));
}

void Ink::text_right(Point top_right, Size size, Colour colour, std::string_view words) {
    text({top_right.x - width(size, words), top_right.y}, size, colour, words);
}

void Ink::text_centred(Rect rect, Size size, Colour colour, std::string_view words) {
    const std::string shown = fitted(size, words, rect.width());
    text({rect.centre().x - 0.5F * width(size, shown), rect.centre().y - 0.5F * line_height(size)}, size, colour, shown);
}

void Ink::text_in(Rect rect, Size size, Colour colour, std::string_view words) {
    text({rect.min.x, rect.centre().y - 0.5F * line_height(size)}, size, colour, fitted(size, words, rect.width()));
}

// How many bytes of the text stand on its first line.
std::size_t Ink::line_break(std::string_view words, Size size, float room) const {
    fonts_->need(words);
    const ImFont* face = fonts_->face(size);
    const std::size_t newline = std::min(words.find('\n'), words.size());
    const char* end = nullptr;
    const std::string_view first = words.substr(0, newline);
    face->CalcTextSizeA(face->FontSize, room, 0.0F, first.data(), end_of(first), &end);
    const auto fit = static_cast<std::size_t>(end - first.data());
    if (fit >= first.size()) return first.size();
    const std::size_t space = first.rfind(' ', fit);
    if (space != std::string_view::npos && space > 0) return space;
    std::size_t one = 1;  // at least one whole character
    while (one < first.size() && (static_cast<unsigned char>(first[one]) & 0xC0U) == 0x80U) ++one;
    return std::max(fit, one);
}

float Ink::wrapped(Rect rect, Size size, Colour colour, std::string_view words) {
    const float height = line_height(size);
    float y = rect.min.y;
    while (!words.empty() && y + height <= rect.max.y + 0.5F) {
        const std::size_t length = line_break(words, size, rect.width());
        const bool last = y + 2.0F * height > rect.max.y + 0.5F;
        if (last && length < words.size()) {
            text({rect.min.x, y}, size, colour, fitted(size, words.substr(0, words.find('\n')), rect.width()));
            return y + height - rect.min.y;
        }
        text({rect.min.x, y}, size, colour, words.substr(0, length));
        words.remove_prefix(length);
        if (!words.empty() && (words.front() == ' ' || words.front() == '\n')) words.remove_prefix(1);
        y += height;
    }
    return y - rect.min.y;
}

float Ink::wrapped_height(float room, Size size, std::string_view words) const {
    float height = 0.0F;
    while (!words.empty()) {
        words.remove_prefix(line_break(words, size, room));
        if (!words.empty() && (words.front() == ' ' || words.front() == '\n')) words.remove_prefix(1);
        height += line_height(size);
    }
    return height;
}

void Ink::on_point(Point at, Size size, Colour colour, std::string_view figure) {
    const std::size_t point = std::min(figure.find('.'), figure.find(' '));
    text({at.x - width(size, figure.substr(0, std::min(point, figure.size()))), at.y}, size, colour, figure);
}

void Ink::clip(Rect rect) { list_->PushClipRect(vec(rect.min), vec({std::max(rect.max.x, rect.min.x), std::max(rect.max.y, rect.min.y)}), true); }
void Ink::unclip() { list_->PopClipRect(); }

}  // namespace proofwalk::app
