#include "acoustics/geometry.hpp"

#include <algorithm>
#include <cmath>

#include "units/convert.hpp"

namespace proofwalk::acoustics {

Axes axes(double pan_deg, double tilt_deg) {
    const double pan = radians(pan_deg), tilt = radians(tilt_deg);
    const Vec3 forward{std::cos(tilt) * std::cos(pan), std::cos(tilt) * std::sin(pan), std::sin(tilt)};
    const Vec3 left{-std::sin(pan), std::cos(pan), 0.0};
    return {forward, left, cross(forward, left)};
}

Bearing bearing(const Pose& box, Vec3 listener) {
    const Vec3 path = listener - box.at;
    const double reach = length(path);
    if (reach == 0.0) return {};
    const Axes own = axes(box.pan_deg, box.tilt_deg);
    const double forward = dot(path, own.forward), left = dot(path, own.left), up = dot(path, own.up);
    return {reach, degrees(std::atan2(left, forward)), degrees(std::atan2(up, std::hypot(forward, left)))};
}

Direction direction(Vec3 from, Vec3 to) {
    const Vec3 path = to - from;
    if (path == Vec3{}) return {};
    return {degrees(std::atan2(path.y, path.x)), degrees(std::atan2(path.z, std::hypot(path.x, path.y)))};
}

double angle_between_deg(Direction a, Direction b) {
    const Vec3 one = axes(a.pan_deg, a.tilt_deg).forward, two = axes(b.pan_deg, b.tilt_deg).forward;
    // atan2 of sine and cosine keeps its accuracy at small angles, where acos loses it.
    return degrees(std::atan2(length(cross(one, two)), dot(one, two)));
}

}  // namespace proofwalk::acoustics
