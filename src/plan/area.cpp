#include "plan/area.hpp"

#include <cmath>

namespace proofwalk::plan {
namespace {

constexpr double height_reach_m = 1.5;  // a mic on a stand, or at the ears of somebody standing
constexpr double rounding = 1e-6;       // a position written to the millimetre on the very edge is inside

double width_at(const Area& area, double along) { return area.near_width_m + along * (area.far_width_m - area.near_width_m); }

// Unit vectors seen from above: from the near to the far row, and to its left.
struct Frame {
    Vec3 ahead, left;
    double depth = 0.0;
};
Frame frame(const Area& area) {
    const double x = area.far.x - area.near.x, y = area.far.y - area.near.y;
    const double depth = std::hypot(x, y);
    return {{x / depth, y / depth, 0.0}, {-y / depth, x / depth, 0.0}, depth};
}

}  // namespace

OnArea on_area(const Area& area, Vec3 point) {
    const Frame own = frame(area);
    const Vec3 from_near = point - area.near;
    const double along = dot(from_near, own.ahead) / own.depth;
    return {along, dot(from_near, own.left) / (0.5 * width_at(area, along))};
}

Vec3 point_on(const Area& area, OnArea place) {
    const Frame own = frame(area);
    const Vec3 middle = area.near + place.along * (area.far - area.near);
    return middle + place.across * 0.5 * width_at(area, place.along) * own.left;
}

bool covers(const Area& area, Vec3 point) {
    const OnArea place = on_area(area, point);
    if (place.along < -rounding || place.along > 1.0 + rounding || std::abs(place.across) > 1.0 + rounding) return false;
    return std::abs(point.z - point_on(area, place).z) <= height_reach_m;
}

const Area* area_under(const Plan& plan, Vec3 point) {
    for (const Area& area : plan.areas)
        if (covers(area, point)) return &area;
    return nullptr;
}

std::optional<OnArea> landing(const Area& area, Vec3 from, Vec3 along) {
    const Vec3 normal = cross(area.far - area.near, frame(area).left);
    const double approach = dot(along, normal);
    if (std::abs(approach) < 1e-12) return std::nullopt;
    const double reach = dot(area.near - from, normal) / approach;
    if (!(reach > 0.0)) return std::nullopt;
    return on_area(area, from + reach * along);
}

}  // namespace proofwalk::plan
