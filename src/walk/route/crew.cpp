#include "walk/route/crew.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace proofwalk::walk::route {
namespace {

constexpr double level_m = 0.5;  // a smaller difference of height is a ramp or a step, no stairs
constexpr double least_scale = 1.0 / 3.0, largest_scale = 3.0;
constexpr double pull = 0.01;    // weight of the old speeds against the new evidence, so that two alike parts stay apart

using Matrix = std::array<std::array<double, 4>, 3>;  // normal equations with their right-hand side

std::array<double, 3> solved(Matrix m) {
    for (std::size_t column = 0; column < 3; ++column) {
        std::size_t pivot = column;
        for (std::size_t row = column + 1; row < 3; ++row)
            if (std::abs(m[row][column]) > std::abs(m[pivot][column])) pivot = row;
        std::swap(m[column], m[pivot]);
        for (std::size_t row = 0; row < 3; ++row) {
            if (row == column) continue;
            const double factor = m[row][column] / m[column][column];
            for (std::size_t k = column; k < 4; ++k) m[row][k] -= factor * m[column][k];
        }
    }
    return {m[0][3] / m[0][0], m[1][3] / m[1][1], m[2][3] / m[2][2]};
}

}  // namespace

double walk_s(const Crew& crew, Vec3 from, Vec3 to) {
    const double flat_m = std::hypot(to.x - from.x, to.y - from.y);
    const double climb_m = std::max(0.0, std::abs(to.z - from.z) - level_m);
    return (flat_m * crew.detour / crew.walk_mps + climb_m * crew.stairs_s_per_m) / std::max(1, crew.people);
}

Crew adapted(const Crew& crew, std::span<const StepTime> steps) {
    if (steps.size() < 3) return crew;
    Matrix normal{};
    double whole = 0.0;
    for (const StepTime& step : steps) {
        const std::array<double, 3> parts{step.walk_s, step.place_s, step.take_s};
        for (std::size_t i = 0; i < 3; ++i) {
            for (std::size_t j = 0; j < 3; ++j) normal[i][j] += parts[i] * parts[j];
            normal[i][3] += parts[i] * step.actual_s;
            whole += parts[i] * parts[i];
        }
    }
    if (!(whole > 0.0) || !std::isfinite(whole)) return crew;
    // Ridge towards a scale of one: what no step tells apart stays as it was.
    for (std::size_t i = 0; i < 3; ++i) {
        const double hold = pull * std::max(normal[i][i], 1e-3 * whole);
        normal[i][i] += hold;
        normal[i][3] += hold;
    }
    const auto scales = solved(normal);
    const auto held = [](double scale) { return std::isfinite(scale) ? std::clamp(scale, least_scale, largest_scale) : 1.0; };
    Crew learnt = crew;
    learnt.walk_mps /= held(scales[0]);
    learnt.stairs_s_per_m *= held(scales[0]);
    learnt.place_s *= held(scales[1]);
    learnt.take_s *= held(scales[2]);
    learnt.mute_change_s *= held(scales[2]);
    return learnt;
}

}  // namespace proofwalk::walk::route
