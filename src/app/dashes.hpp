// A line through points as its dashes.
#pragma once

#include <algorithm>
#include <cmath>
#include <span>

#include "app/shapes.hpp"

namespace proofwalk::app {

// Calls draw(from, to) for each piece that is inked; lengths in pixels.
template <class Draw>
void for_each_dash(std::span<const Point> points, float dash, float gap, Draw draw) {
    const auto between = [](Point a, Point b, float t) { return Point{a.x + t * (b.x - a.x), a.y + t * (b.y - a.y)}; };
    float into = 0.0F;  // how far into dash and gap the pen is
    for (std::size_t i = 1; i < points.size(); ++i) {
        const float length = std::hypot(points[i].x - points[i - 1].x, points[i].y - points[i - 1].y);
        // Dashes beyond the screen cost time and show nothing.
        if (!(length > 0.0F) || length > 40000.0F) continue;
        float at = 0.0F;
        while (at < length) {
            const bool drawing = into < dash;
            const float step = std::min((drawing ? dash : dash + gap) - into, length - at);
            if (drawing) draw(between(points[i - 1], points[i], at / length), between(points[i - 1], points[i], (at + step) / length));
            at += std::max(step, 0.01F);
            into += std::max(step, 0.01F);
            if (into >= dash + gap) into = 0.0F;
        }
    }
}

}  // namespace proofwalk::app
