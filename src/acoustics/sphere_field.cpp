#include "acoustics/sphere_field.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <Eigen/Dense>

#include "units/convert.hpp"

namespace proofwalk::acoustics {
namespace {

constexpr double step_deg = 2.0;
constexpr std::size_t columns = 181, rows = 91;  // h -180..180, v -90..90
constexpr double reach_in_spacings = 2.2;
constexpr std::size_t coefficients = 6;  // 1, x, y, xx, xy, yy
constexpr std::size_t fewest_points = 9;

using Levels = Eigen::Array<double, band_count, 1>;
struct Known {
    Vec3 towards;
    double v_deg = 0.0;
    Levels level_db;
};

double apart_rad(Vec3 a, Vec3 b) { return std::atan2(length(cross(a, b)), dot(a, b)); }

// Sorted by elevation; directions within a twentieth of a degree are one (their powers averaged), as the poles of a
// latitude grid are.
std::vector<Known> distinct(const std::vector<SofaDirection>& directions) {
    const double same = std::cos(radians(0.05));
    std::vector<Known> known;
    for (const SofaDirection& direction : directions) {
        Levels level;
        for (std::size_t band = 0; band < band_count; ++band) level[static_cast<Eigen::Index>(band)] = direction.level_db[band];
        known.push_back({direction.towards, degrees(std::asin(std::clamp(direction.towards.z, -1.0, 1.0))), level});
    }
    std::ranges::sort(known, {}, &Known::v_deg);
    std::vector<Known> merged;
    std::vector<int> counts;
    for (const Known& one : known) {
        bool found = false;
        for (std::size_t i = merged.size(); i-- > 0 && one.v_deg - merged[i].v_deg < 0.1;)
            if (dot(merged[i].towards, one.towards) >= same) {
                const double n = counts[i]++;
                merged[i].level_db = 10.0 * ((n * (merged[i].level_db * 0.230258509299).exp() + (one.level_db * 0.230258509299).exp()) / (n + 1.0)).log10();
                found = true;
                break;
            }
        if (!found) {
            merged.push_back(one);
            counts.push_back(1);
        }
    }
    return merged;
}

// How far apart the directions stand: the median distance from a direction to its nearest neighbour, or what an even
// spread over the part of the sphere that they cover would give, whichever is larger (on a latitude grid neighbours
// crowd towards the poles).
double typical_spacing_rad(const std::vector<Known>& known) {
    std::vector<double> nearest;
    const std::size_t stride = std::max<std::size_t>(1, known.size() / 200);
    for (std::size_t i = 0; i < known.size(); i += stride) {
        double largest = -1.0;
        for (std::size_t j = 0; j < known.size(); ++j)
            if (j != i) largest = std::max(largest, dot(known[i].towards, known[j].towards));
        nearest.push_back(std::acos(std::clamp(largest, -1.0, 1.0)));
    }
    std::ranges::nth_element(nearest, nearest.begin() + static_cast<std::ptrdiff_t>(nearest.size() / 2));
    const double even = std::sqrt(4.0 * std::numbers::pi / static_cast<double>(known.size()));
    return std::max(nearest[nearest.size() / 2], std::min(even, 2.0 * nearest[nearest.size() / 2]));
}

class Interpolator {
public:
    Interpolator(const std::vector<Known>& known, double spacing_rad) : known_(known), spacing_(spacing_rad) {}

    struct Found {
        Levels level_db;
        double to_nearest_rad = 0.0;
    };
    [[nodiscard]] Found at(const Axes& direction) const {
        const std::size_t nearest = nearest_to(direction.forward);
        const double to_nearest = apart_rad(known_[nearest].towards, direction.forward);
        // Outside the measured part (behind the box) nothing is made up; on a measured direction nothing is needed.
        if (to_nearest > 1.5 * spacing_ || to_nearest < 1e-6) return {known_[nearest].level_db, to_nearest};
        for (double reach = reach_in_spacings * spacing_; reach < 3.0 * reach_in_spacings * spacing_; reach *= 1.3)
            if (const auto fitted = fit(direction, reach)) return {*fitted, to_nearest};
        return {known_[nearest].level_db, to_nearest};
    }

private:
    // Directions within `reach` differ by no more than that in elevation; known_ is sorted by it.
    [[nodiscard]] std::pair<std::size_t, std::size_t> belt(Vec3 towards, double reach_rad) const {
        const double v = degrees(std::asin(std::clamp(towards.z, -1.0, 1.0))), width = degrees(reach_rad);
        const auto first = std::ranges::lower_bound(known_, v - width, {}, &Known::v_deg);
        const auto last = std::ranges::upper_bound(known_, v + width, {}, &Known::v_deg);
        return {static_cast<std::size_t>(first - known_.begin()), static_cast<std::size_t>(last - known_.begin())};
    }

    [[nodiscard]] std::size_t nearest_to(Vec3 towards) const {
        for (double reach = 2.0 * spacing_;; reach *= 2.0) {
            const bool all = reach > std::numbers::pi;
            const auto [first, last] = all ? std::pair<std::size_t, std::size_t>{0, known_.size()} : belt(towards, reach);
            std::size_t best = known_.size();
            double closest = all ? -2.0 : std::cos(reach);
            for (std::size_t i = first; i < last; ++i)
                if (const double cosine = dot(known_[i].towards, towards); cosine > closest) {
                    closest = cosine;
                    best = i;
                }
            if (best < known_.size()) return best;
        }
    }

    [[nodiscard]] std::optional<Levels> fit(const Axes& direction, double reach) const {
        const auto [first, last] = belt(direction.forward, reach);
        const double least_cosine = std::cos(reach);
        Eigen::Matrix<double, coefficients, coefficients> normal;
        Eigen::Matrix<double, coefficients, band_count> right;
        normal.setZero();
        right.setZero();
        std::size_t count = 0;
        for (std::size_t i = first; i < last; ++i) {
            const Vec3 towards = known_[i].towards;
            if (dot(towards, direction.forward) < least_cosine) continue;
            const double angle = apart_rad(towards, direction.forward);
            // Tangent-plane coordinates that keep the distance, in units of the reach.
            const double left = dot(towards, direction.left), up = dot(towards, direction.up);
            const double sine = std::hypot(left, up);
            const double x = sine > 0.0 ? angle / reach * left / sine : 0.0, y = sine > 0.0 ? angle / reach * up / sine : 0.0;
            const double d2 = x * x + y * y;
            const double weight = (1.0 - d2) * (1.0 - d2) / (d2 + 1e-4);
            Eigen::Matrix<double, coefficients, 1> basis;
            basis << 1.0, x, y, x * x, x * y, y * y;
            normal.noalias() += weight * basis * basis.transpose();
            right.noalias() += (weight * basis) * known_[i].level_db.matrix().transpose();
            ++count;
        }
        if (count < fewest_points) return std::nullopt;
        const Eigen::SelfAdjointEigenSolver<Eigen::Matrix<double, coefficients, coefficients>> parts(normal);
        const auto& strength = parts.eigenvalues();
        if (strength(0) < 1e-6 * strength(coefficients - 1)) return std::nullopt;  // all on one arc: no surface to fit
        const Eigen::Matrix<double, coefficients, 1> row =
            parts.eigenvectors() * (parts.eigenvectors().row(0).transpose().array() / strength.array()).matrix();
        return Levels((row.transpose() * right).transpose().array());
    }

    const std::vector<Known>& known_;
    double spacing_;
};

}  // namespace

SphereField::SphereField(const std::vector<SofaDirection>& directions) {
    const std::vector<Known> known = distinct(directions);
    const double spacing = typical_spacing_rad(known);
    spacing_deg_ = degrees(spacing);
    const Interpolator interpolate(known, spacing);
    grid_.resize(rows * columns * band_count);
    for (std::size_t row = 0; row < rows; ++row)
        for (std::size_t column = 0; column < columns; ++column) {
            const double h = -180.0 + step_deg * static_cast<double>(column), v = -90.0 + step_deg * static_cast<double>(row);
            const Axes direction = axes(h, v);
            const auto found = interpolate.at(direction);
            if (direction.forward.x >= 0.0 && degrees(found.to_nearest_rad) > gap_.to_nearest_deg)
                gap_ = {h, v, degrees(found.to_nearest_rad)};
            for (std::size_t band = 0; band < band_count; ++band)
                grid_[(row * columns + column) * band_count + band] = static_cast<float>(found.level_db[static_cast<Eigen::Index>(band)]);
        }
}

double SphereField::level_db(double h_deg, double v_deg, std::size_t band) const {
    const double column = (std::clamp(h_deg, -180.0, 180.0) + 180.0) / step_deg, row = (std::clamp(v_deg, -90.0, 90.0) + 90.0) / step_deg;
    const auto c = std::min(static_cast<std::size_t>(column), columns - 2), r = std::min(static_cast<std::size_t>(row), rows - 2);
    const double across = column - static_cast<double>(c), up = row - static_cast<double>(r);
    const auto node = [&](std::size_t i, std::size_t j) { return static_cast<double>(grid_[(i * columns + j) * band_count + band]); };
    return (1.0 - up) * ((1.0 - across) * node(r, c) + across * node(r, c + 1)) + up * ((1.0 - across) * node(r + 1, c) + across * node(r + 1, c + 1));
}

}  // namespace proofwalk::acoustics
