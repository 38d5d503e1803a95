#include "app/canvas.hpp"

#include <algorithm>
#include <cmath>

#include "app/dashes.hpp"

namespace proofwalk::app {
namespace {

int first_pixel(float at, int count) { return static_cast<int>(std::floor(std::clamp(at, 0.0F, static_cast<float>(count)))); }
int past_pixel(float at, int count) { return static_cast<int>(std::ceil(std::clamp(at, 0.0F, static_cast<float>(count)))); }

}  // namespace

// A pixel is covered by how far its middle lies inside the edge, over one pixel.
void Canvas::cover_segment(Point a, Point b, float half) {
    const float reach = half + 0.5F;
    const int left = first_pixel(std::min(a.x, b.x) - reach, pixels_.width), right = past_pixel(std::max(a.x, b.x) + reach, pixels_.width);
    const int top = first_pixel(std::min(a.y, b.y) - reach, pixels_.height), bottom = past_pixel(std::max(a.y, b.y) + reach, pixels_.height);
    const Point along = b - a;
    const float squared = along.x * along.x + along.y * along.y;
    const float each = squared > 0.0F ? 1.0F / squared : 0.0F;
    for (int y = top; y < bottom; ++y) {
        float* row = cover_.data() + static_cast<std::size_t>(y) * static_cast<std::size_t>(pixels_.width);
        const float down = static_cast<float>(y) + 0.5F - a.y;
        for (int x = left; x < right; ++x) {
            const float across = static_cast<float>(x) + 0.5F - a.x;
            const float share = std::clamp((across * along.x + down * along.y) * each, 0.0F, 1.0F);
            const float away_x = across - share * along.x, away_y = down - share * along.y;
            const float away = away_x * away_x + away_y * away_y;
            if (away < reach * reach) row[x] = std::max(row[x], std::min(1.0F, reach - std::sqrt(away)));
        }
    }
    if (left >= right) return;
    first_row_ = std::min(first_row_, top);
    past_row_ = std::max(past_row_, bottom);
}

void Canvas::ink(int x, int y, Colour colour, float share) {
    Colour& pixel = pixels_.at(x, y);
    const float above = share * static_cast<float>(colour >> 24) / 255.0F;
    const float below = static_cast<float>(pixel >> 24) / 255.0F * (1.0F - above);
    const float both = above + below;
    if (!(above > 0.0F)) return;
    const float of_new = above / both, of_old = below / both;
    Colour mixed = static_cast<Colour>(255.0F * both + 0.5F) << 24;
    for (const int shift : {0, 8, 16}) {
        const auto channel = [&](Colour of) { return static_cast<float>((of >> shift) & 0xFFU); };
        mixed |= static_cast<Colour>(of_new * channel(colour) + of_old * channel(pixel) + 0.5F) << shift;
    }
    pixel = mixed;
}

void Canvas::ink_covered(Colour colour) {
    for (int y = first_row_; y < past_row_; ++y) {
        float* row = cover_.data() + static_cast<std::size_t>(y) * static_cast<std::size_t>(pixels_.width);
        for (int x = 0; x < pixels_.width; ++x)
            if (row[x] > 0.0F) {
                ink(x, y, colour, row[x]);
                row[x] = 0.0F;
            }
    }
    first_row_ = pixels_.height;
    past_row_ = 0;
}

void Canvas::line(std::span<const Point> points, Colour colour, float width) {
    for (std::size_t i = 1; i < points.size(); ++i) cover_segment(points[i - 1], points[i], 0.5F * width);
    ink_covered(colour);
}

void Canvas::dashes(std::span<const Point> points, Colour colour, float width, float dash, float gap) {
    for_each_dash(points, dash, gap, [&](Point from, Point to) { cover_segment(from, to, 0.5F * width); });
    ink_covered(colour);
}

void Canvas::between(std::span<const Point> upper, std::span<const Point> lower, Colour colour, int every) {
    const std::size_t count = std::min(upper.size(), lower.size());
    std::size_t i = 1;
    for (int x = 0; x < pixels_.width && i < count; ++x) {
        const float middle = static_cast<float>(x) + 0.5F;
        if (middle < upper[0].x || x % every != 0) continue;
        while (i < count && upper[i].x < middle) ++i;
        if (i == count) break;
        const float step = upper[i].x - upper[i - 1].x, share = step > 0.0F ? (middle - upper[i - 1].x) / step : 1.0F;
        const float top = std::lerp(upper[i - 1].y, upper[i].y, share), bottom = std::lerp(lower[i - 1].y, lower[i].y, share);
        for (int y = first_pixel(top, pixels_.height); y < past_pixel(bottom, pixels_.height); ++y) {
            const float from = static_cast<float>(y);
            ink(x, y, colour, std::min(bottom, from + 1.0F) - std::max(top, from));
        }
    }
}

}  // namespace proofwalk::app
