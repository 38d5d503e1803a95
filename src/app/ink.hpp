// The pen: lines, hatching, text and marks on a sheet. Everything that a screen draws goes through it. Lengths given as
// "px" are at scale 1 and grow with the sheet's scale.
#pragma once

#include <span>
#include <string>
#include <string_view>

#include "app/fonts.hpp"
#include "app/paper.hpp"
#include "app/pictures.hpp"
#include "app/shapes.hpp"
#include "verify/judge.hpp"

struct ImDrawList;

namespace proofwalk::app {

class Ink {
public:
    Ink(Fonts& fonts, const Paper& paper, float scale) : fonts_(&fonts), paper_(&paper), scale_(scale) {}
    void onto(ImDrawList* list) { list_ = list; }

    [[nodiscard]] const Paper& paper() const { return *paper_; }
    [[nodiscard]] float scale() const { return scale_; }
    [[nodiscard]] float px(float at_scale_one) const { return at_scale_one * scale_; }

    void line(Point a, Point b, Colour colour, float width_px = 1.0F);
    void dashed(Point a, Point b, Colour colour, float width_px = 1.0F, float dash_px = 6.0F, float gap_px = 4.0F);
    void path(std::span<const Point> points, Colour colour, float width_px = 1.0F, bool closed = false);
    void dashed_path(std::span<const Point> points, Colour colour, float width_px = 1.0F, float dash_px = 6.0F, float gap_px = 4.0F);
    void frame(Rect rect, Colour colour, float width_px = 1.0F);
    void fill(Rect rect, Colour colour);
    void fill_convex(std::span<const Point> points, Colour colour);
    void ring(Point centre, float radius, Colour colour, float width_px = 1.0F);
    void disc(Point centre, float radius, Colour colour);
    void hatch(Rect rect, Colour colour, float every_px = 6.0F);
    // Stretched over the rectangle.
    void picture(Rect rect, const Picture& picture);
    // Dimension line with slanted ends and its figure in the middle.
    void dimension(Point a, Point b, std::string_view figure);
    // A verdict's shape: pass full disc, fail full square on its corner, unsure half disc, open ring, skipped struck ring.
    void mark(Point centre, float radius, verify::Verdict verdict);

    [[nodiscard]] float line_height(Size size) const;
    [[nodiscard]] float width(Size size, std::string_view text) const;
    // The text, or as much of it as fits and an ellipsis.
    [[nodiscard]] std::string fitted(Size size, std::string_view text, float width) const;
    // The same for a name: its middle goes, because names that are alike differ at their ends.
    [[nodiscard]] std::string fitted_name(Size size, std::string_view name, float width) const;
    void name_in(Rect rect, Size size, Colour colour, std::string_view name);
    void text(Point top_left, Size size, Colour colour, std::string_view text);
    void text_right(Point top_right, Size size, Colour colour, std::string_view text);
    void text_centred(Rect rect, Size size, Colour colour, std::string_view text);
    // Left in a rectangle, in the middle of its height, cut with an ellipsis.
    void text_in(Rect rect, Size size, Colour colour, std::string_view text);
    // Breaks lines at spaces; the last line that fits ends in an ellipsis when there is more. Gives the height used.
    float wrapped(Rect rect, Size size, Colour colour, std::string_view text);
    [[nodiscard]] float wrapped_height(float width, Size size, std::string_view text) const;
    // A figure set so that its decimal point (or the end of its whole part) stands at `at.x`.
    void on_point(Point at, Size size, Colour colour, std::string_view figure);

    void clip(Rect rect);
    void unclip();

private:
    [[nodiscard]] std::size_t line_break(std::string_view text, Size size, float width) const;

    Fonts* fonts_;
    const Paper* paper_;
    float scale_;
    ImDrawList* list_ = nullptr;
};

}  // namespace proofwalk::app
