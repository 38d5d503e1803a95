#include "report/label_places.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "report/text_width.hpp"

namespace proofwalk::report {

double text_width(std::string_view text, double size) { return 0.53 * size * columns_of(text); }

namespace {

bool overlap(const Rectangle& a, const Rectangle& b) {
    return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
}

}  // namespace

void LabelPlaces::avoid_line(Pixel from, Pixel to) {
    constexpr double step = 6.0;
    const double length = std::hypot(to.x - from.x, to.y - from.y);
    if (!std::isfinite(length)) return;
    const int steps = std::clamp(static_cast<int>(length / step), 1, 400);
    for (int i = 0; i <= steps; ++i) {
        const double part = static_cast<double>(i) / steps;
        const Pixel at{from.x + part * (to.x - from.x), from.y + part * (to.y - from.y)};
        lines_.push_back({at.x - 2.0, at.y - 2.0, at.x + 2.0, at.y + 2.0});
    }
}

bool LabelPlaces::claim(Rectangle rectangle) {
    if (!is_free(rectangle)) return false;
    taken_.push_back(rectangle);
    return true;
}

bool LabelPlaces::is_free(const Rectangle& rectangle) const {
    if (rectangle.left < sheet_.left || rectangle.top < sheet_.top || rectangle.right > sheet_.right ||
        rectangle.bottom > sheet_.bottom)
        return false;
    return std::ranges::none_of(taken_, [&](const Rectangle& other) { return overlap(rectangle, other); });
}

int LabelPlaces::lines_under(const Rectangle& rectangle) const {
    return static_cast<int>(
        std::ranges::count_if(lines_, [&](const Rectangle& other) { return overlap(rectangle, other); }));
}

std::optional<Pixel> LabelPlaces::near(Pixel at, double width, double height, double clearance) {
    struct Side {
        double x, y;  // -1, 0, 1: left or right of the point, above or below
    };
    constexpr std::array<Side, 8> sides = {
        {{1, 0}, {1, -1}, {1, 1}, {-1, 0}, {-1, -1}, {-1, 1}, {0, -1}, {0, 1}}};
    constexpr std::array<double, 3> steps = {1.0, 1.4, 1.8};
    // A line under the text costs more than a place farther off, that more than the less usual side.
    std::optional<Rectangle> best;
    double least = 0.0;
    for (std::size_t s = 0; s < steps.size(); ++s)
        for (std::size_t side = 0; side < sides.size(); ++side) {
            const double middle_x = at.x + sides[side].x * (steps[s] * clearance + width / 2.0);
            const double middle_y = at.y + sides[side].y * (steps[s] * clearance + height / 2.0);
            const Rectangle place{middle_x - width / 2.0, middle_y - height / 2.0, middle_x + width / 2.0,
                                  middle_y + height / 2.0};
            if (!is_free(place)) continue;
            const double cost = 10.0 * lines_under(place) + 2.0 * static_cast<double>(s) + 0.2 * static_cast<double>(side);
            if (best && cost >= least) continue;
            best = place;
            least = cost;
        }
    if (!best) return std::nullopt;
    taken_.push_back(*best);
    return Pixel{best->left, (best->top + best->bottom) / 2.0};
}

}  // namespace proofwalk::report
