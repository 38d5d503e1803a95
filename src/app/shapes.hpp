// Points and rectangles of the screen, in framebuffer pixels, y down; and layout by cutting pieces off a rectangle.
#pragma once

#include <algorithm>
#include <cstdint>

namespace proofwalk::app {

struct Point {
    float x = 0.0F;
    float y = 0.0F;
    friend constexpr bool operator==(const Point&, const Point&) = default;
};
[[nodiscard]] constexpr Point operator+(Point a, Point b) { return {a.x + b.x, a.y + b.y}; }
[[nodiscard]] constexpr Point operator-(Point a, Point b) { return {a.x - b.x, a.y - b.y}; }

using Colour = std::uint32_t;  // 0xAABBGGRR
[[nodiscard]] constexpr Colour rgb(std::uint32_t hex, std::uint32_t alpha = 255) {
    return (alpha << 24) | ((hex & 0xFFU) << 16) | (hex & 0xFF00U) | ((hex >> 16) & 0xFFU);
}
[[nodiscard]] constexpr Colour with_alpha(Colour colour, std::uint32_t alpha) { return (colour & 0xFFFFFFU) | (alpha << 24); }

struct Rect {
    Point min, max;

    [[nodiscard]] constexpr float width() const { return max.x - min.x; }
    [[nodiscard]] constexpr float height() const { return max.y - min.y; }
    [[nodiscard]] constexpr Point centre() const { return {0.5F * (min.x + max.x), 0.5F * (min.y + max.y)}; }
    [[nodiscard]] constexpr bool contains(Point p) const { return p.x >= min.x && p.x < max.x && p.y >= min.y && p.y < max.y; }
    [[nodiscard]] constexpr Rect inset(float x, float y) const { return {{min.x + x, min.y + y}, {max.x - x, max.y - y}}; }
    [[nodiscard]] constexpr Rect inset(float by) const { return inset(by, by); }
    [[nodiscard]] constexpr bool empty() const { return width() <= 0.0F || height() <= 0.0F; }
    friend constexpr bool operator==(const Rect&, const Rect&) = default;
};

// Each cuts a piece off `rest` (never more than there is) and gives it.
inline Rect cut_left(Rect& rest, float width) {
    Rect piece = rest;
    piece.max.x = rest.min.x = std::min(rest.min.x + width, rest.max.x);
    return piece;
}
inline Rect cut_right(Rect& rest, float width) {
    Rect piece = rest;
    piece.min.x = rest.max.x = std::max(rest.max.x - width, rest.min.x);
    return piece;
}
inline Rect cut_top(Rect& rest, float height) {
    Rect piece = rest;
    piece.max.y = rest.min.y = std::min(rest.min.y + height, rest.max.y);
    return piece;
}
inline Rect cut_bottom(Rect& rest, float height) {
    Rect piece = rest;
    piece.min.y = rest.max.y = std::max(rest.max.y - height, rest.min.y);
    return piece;
}

}  // namespace proofwalk::app
