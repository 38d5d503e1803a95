#include "report/label_places.hpp"

#include <algorithm>
#include <array>

#include "report/text_width.hpp"

namespace proofwalk::report {

double text_width(std::string_view text, double size) { return 0.53 * size * columns_of(text); }

bool LabelPlaces::is_free(const Rectangle& rectangle) const {
    if (rectangle.left < sheet_.left || rectangle.top < sheet_.top || rectangle.right > sheet_.right ||
        rectangle.bottom > sheet_.bottom)
        return false;
    return std::ranges::none_of(taken_, [&](const Rectangle& other) {
        return rectangle.left < other.right && other.left < rectangle.right && rectangle.top < other.bottom &&
               other.top < rectangle.bottom;
    });
}

std::optional<Pixel> LabelPlaces::near(Pixel at, double width, double height, double clearance) {
    struct Side {
        double x, y;  // -1, 0, 1: left or right of the point, above or below
    };
    constexpr std::array<Side, 8> sides = {
        {{1, 0}, {1, -1}, {1, 1}, {-1, 0}, {-1, -1}, {-1, 1}, {0, -1}, {0, 1}}};
    for (const double step : {1.0, 2.2})
        for (const Side& side : sides) {
            const double middle_x = at.x + side.x * (step * clearance + width / 2.0);
            const double middle_y = at.y + side.y * (step * clearance + height / 2.0);
            const Rectangle place{middle_x - width / 2.0, middle_y - height / 2.0, middle_x + width / 2.0,
                                  middle_y + height / 2.0};
            if (!is_free(place)) continue;
            taken_.push_back(place);
            return Pixel{place.left, middle_y};
        }
    return std::nullopt;
}

}  // namespace proofwalk::report
