// Finds free places for labels on a drawing, so that none lies over another.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "report/svg_canvas.hpp"

namespace proofwalk::report {

struct Rectangle {
    double left = 0.0, top = 0.0, right = 0.0, bottom = 0.0;
};

class LabelPlaces {
public:
    LabelPlaces(double width, double height) : sheet_{0.0, 0.0, width, height} {}

    void keep_clear(Rectangle rectangle) { taken_.push_back(rectangle); }
    // Takes the place when it is free.
    [[nodiscard]] bool claim(Rectangle rectangle);
    // A line that a label should not lie on where there is another place.
    void avoid_line(Pixel from, Pixel to);

    // Middle-left of a text of this size near a point, at one of eight places around it; absent when all are taken.
    // The place is taken from then on.
    [[nodiscard]] std::optional<Pixel> near(Pixel at, double width, double height, double clearance);

private:
    [[nodiscard]] bool is_free(const Rectangle& rectangle) const;
    [[nodiscard]] int lines_under(const Rectangle& rectangle) const;

    Rectangle sheet_;
    std::vector<Rectangle> taken_;
    std::vector<Rectangle> lines_;  // as small squares
};

// Width in pixels of a text in the condensed sans of the sheets, about (from its average advance, 0.53 em).
[[nodiscard]] double text_width(std::string_view text, double size);

}  // namespace proofwalk::report
