#include "acoustics/triangle.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "units/convert.hpp"

namespace proofwalk::acoustics {
namespace {

constexpr std::array<char, 3> side_name = {'a', 'b', 'c'};
constexpr std::array<char, 3> angle_name = {'A', 'B', 'C'};

std::unexpected<Fault> impossible(std::string reason, std::string remedy) {
    return std::unexpected(Fault{FaultKind::input, "", "", std::move(reason), std::move(remedy)});
}

double sine(double angle_deg) { return std::sin(radians(angle_deg)); }

// The angle opposite `a`. The half-angle form keeps its accuracy for thin triangles.
double opposite_deg(double a, double b, double c) {
    const double s = 0.5 * (a + b + c);
    return 2.0 * degrees(std::atan2(std::sqrt(std::max((s - b) * (s - c), 0.0)), std::sqrt(std::max(s * (s - a), 0.0))));
}

Result<std::vector<Triangle>> from_sides(std::array<double, 3> side) {
    for (std::size_t i = 0; i < 3; ++i) {
        const double others = side[(i + 1) % 3] + side[(i + 2) % 3];
        if (side[i] >= others)
            return impossible(fmt::format("side {} = {:g} is not shorter than the other two together ({:g})", side_name[i], side[i], others),
                              fmt::format("the longest possible {} is just below {:g}", side_name[i], others));
    }
    Triangle found{side, {}};
    for (std::size_t i = 0; i < 3; ++i) found.angle_deg[i] = opposite_deg(side[i], side[(i + 1) % 3], side[(i + 2) % 3]);
    return std::vector{found};
}

// Two sides and the angle between them.
Result<std::vector<Triangle>> from_corner(std::size_t corner, double angle_deg, std::array<double, 3> side) {
    const std::size_t i = (corner + 1) % 3, j = (corner + 2) % 3;
    const double half_sine = std::sin(radians(angle_deg) / 2.0);
    side[corner] = std::sqrt((side[i] - side[j]) * (side[i] - side[j]) + 4.0 * side[i] * side[j] * half_sine * half_sine);
    Triangle found{side, {}};
    found.angle_deg[corner] = angle_deg;
    // Angle i by its own height over side j: exact for blunt angles too.
    found.angle_deg[i] = degrees(std::atan2(side[i] * sine(angle_deg), side[j] - side[i] * std::cos(radians(angle_deg))));
    found.angle_deg[j] = 180.0 - angle_deg - found.angle_deg[i];
    return std::vector{found};
}

// Sides i and j and the angle opposite side i.
Result<std::vector<Triangle>> from_side_over_angle(std::size_t i, std::size_t j, double angle_deg, std::array<double, 3> side) {
    const double height = side[j] * sine(angle_deg);
    if (side[i] < height * (1.0 - 1e-12))
        return impossible(fmt::format("side {} = {:g} is too short to reach the other side", side_name[i], side[i]),
                          fmt::format("the shortest possible {} is {:g}", side_name[i], height));
    if (angle_deg >= 90.0 && side[i] <= side[j])
        return impossible(fmt::format("side {} = {:g} lies opposite the widest angle and is not the longest side", side_name[i], side[i]),
                          fmt::format("it must be longer than {:g}", side[j]));
    const std::size_t k = 3 - i - j;
    std::vector<Triangle> all;
    const double sharp = degrees(std::asin(std::min(height / side[i], 1.0)));
    for (const double other : {sharp, 180.0 - sharp}) {
        const double third = 180.0 - angle_deg - other;
        if (third <= 1e-9 || (!all.empty() && std::abs(other - sharp) < 1e-9)) continue;
        Triangle found{side, {}};
        found.angle_deg[i] = angle_deg;
        found.angle_deg[j] = other;
        found.angle_deg[k] = third;
        found.side[k] = side[i] * sine(third) / sine(angle_deg);
        all.push_back(found);
    }
    return all;
}

Result<std::vector<Triangle>> from_angles(std::size_t i, double side, std::array<double, 3> angle_deg) {
    Triangle found{{}, angle_deg};
    for (std::size_t k = 0; k < 3; ++k) found.side[k] = k == i ? side : side * sine(angle_deg[k]) / sine(angle_deg[i]);
    return std::vector{found};
}

}  // namespace

Result<std::vector<Triangle>> solve_triangle(const TriangleKnown& known) {
    std::size_t sides = 0, angles = 0;
    double angle_sum = 0.0;
    std::array<double, 3> side{}, angle{};
    for (std::size_t i = 0; i < 3; ++i) {
        if (known.side[i]) {
            if (!(*known.side[i] > 0.0) || !std::isfinite(*known.side[i]))
                return impossible(fmt::format("side {} = {:g} is no length", side_name[i], *known.side[i]), "give a length above zero");
            side[i] = *known.side[i];
            ++sides;
        }
        if (known.angle_deg[i]) {
            if (!(*known.angle_deg[i] > 0.0 && *known.angle_deg[i] < 180.0))
                return impossible(fmt::format("angle {} = {:g} deg is no corner of a triangle", angle_name[i], *known.angle_deg[i]),
                                  "give an angle between 0 and 180 degrees");
            angle[i] = *known.angle_deg[i];
            angle_sum += angle[i];
            ++angles;
        }
    }
    if (angle_sum >= 180.0)
        return impossible(fmt::format("the angles add up to {:g} degrees", angle_sum), "three corners have 180 degrees together, so two have less");
    if (sides + angles != 3)
        return impossible(fmt::format("{} pieces are given where three are needed", sides + angles),
                          sides + angles < 3 ? "give three pieces, or two and a right angle" : "leave out what follows from the others");
    if (sides == 0) return impossible("three angles give a shape and no size", "give at least one side");
    if (sides == 3) return from_sides(side);
    if (sides == 1) {
        for (std::size_t i = 0; i < 3; ++i)
            if (!known.angle_deg[i]) angle[i] = 180.0 - angle_sum;
        return from_angles(known.side[0] ? 0 : known.side[1] ? 1 : 2, side[0] + side[1] + side[2], angle);
    }
    const std::size_t corner = known.angle_deg[0] ? 0 : known.angle_deg[1] ? 1 : 2;
    if (!known.side[corner]) return from_corner(corner, angle[corner], side);
    const std::size_t next = (corner + 1) % 3;
    return from_side_over_angle(corner, known.side[next] ? next : (corner + 2) % 3, angle[corner], side);
}

Throw throw_to(double height_m, double distance_m) {
    return {std::hypot(height_m, distance_m), degrees(std::atan2(height_m, distance_m))};
}

}  // namespace proofwalk::acoustics
