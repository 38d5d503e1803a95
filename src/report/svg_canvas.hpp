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
    // `title` and `description` are read out in place of the picture; `style_class` names the figure in the style sheet;
    // `data` is put into the opening tag as it is (data-... attributes).
    SvgCanvas(double width, double height, std::string_view style_class, std::string_view title,
              std::string_view description, std::string_view data = "");

    void line(std::string_view style_class, Pixel from, Pixel to);
    void path(std::string_view style_class, const std::vector<Pixel>& points, bool closed = false);
    // A line whose values can be read off, by its name.
    void named_line(std::string_view style_class, std::string_view name, const std::vector<Pixel>& points);
    // What is drawn until the group is closed shows this text under the pointer.
    void open_group(std::string_view tip);
    void close_group();
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
    void add_path(const std::string& attributes, const std::vector<Pixel>& points, bool closed);

    double width_, height_;
    std::string svg_;
};

}  // namespace proofwalk::report
