// A line drawing as SVG text, in pixels, y down. Tones and line weights are classes of the style sheet, see sheet_style.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace proofwalk::report {

struct Pixel {
    double x = 0.0, y = 0.0;
};

// Text between tags and inside attributes: markup characters escaped, control characters and broken bytes made harmless.
[[nodiscard]] std::string escaped(std::string_view text);

class SvgCanvas {
public:
    // `title` and `description` are read out in place of the picture; `style_class` names the figure in the style sheet.
    SvgCanvas(double width, double height, std::string_view style_class, std::string_view title,
              std::string_view description);

    void line(std::string_view style_class, Pixel from, Pixel to);
    void path(std::string_view style_class, const std::vector<Pixel>& points, bool closed = false);
    void rectangle(std::string_view style_class, Pixel corner, double width, double height);
    void disc(std::string_view style_class, Pixel centre, double radius);
    enum class Anchor { start, middle, end };
    void text(std::string_view style_class, Pixel at, std::string_view text, Anchor anchor = Anchor::start,
              double turned_deg = 0.0);
    // A symbol of the page, square, by its middle.
    void symbol(std::string_view name, Pixel centre, double size);
    // Ready-made SVG.
    void raw(std::string_view svg);

    [[nodiscard]] std::string finished() &&;
    [[nodiscard]] double width() const { return width_; }
    [[nodiscard]] double height() const { return height_; }

private:
    double width_, height_;
    std::string svg_;
};

}  // namespace proofwalk::report
