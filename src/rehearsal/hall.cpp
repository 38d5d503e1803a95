#include "rehearsal/hall.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <span>

#include "units/convert.hpp"

namespace proofwalk::rehearsal {
namespace {

constexpr int highest_order = 2;

// Absorption per octave 125 Hz .. 8 kHz and how much of the rest is scattered out of the mirror path. Orders of size of an
// empty hall with upholstered seats, of plaster and drapes, and of a hung ceiling: from memory of handbook tables.
struct Surface {
    std::array<double, 7> absorption;
    std::array<double, 7> scattering;
};
constexpr Surface seats{{0.25, 0.35, 0.45, 0.50, 0.55, 0.55, 0.55}, {0.1, 0.1, 0.2, 0.3, 0.4, 0.5, 0.5}};
constexpr Surface walls{{0.20, 0.20, 0.20, 0.20, 0.25, 0.30, 0.35}, {0.1, 0.1, 0.1, 0.2, 0.2, 0.3, 0.3}};
constexpr Surface ceiling{{0.30, 0.30, 0.35, 0.40, 0.45, 0.45, 0.45}, {0.1, 0.2, 0.3, 0.4, 0.5, 0.5, 0.6}};

double at_octave(const std::array<double, 7>& values, double frequency_hz) {
    const double octave = std::clamp(std::log2(std::max(frequency_hz, 1.0) / 125.0), 0.0, 6.0);
    const auto below = std::min(static_cast<std::size_t>(octave), std::size_t{5});
    const double share = octave - static_cast<double>(below);
    return values[below] * (1.0 - share) + values[below + 1] * share;
}

double bounce_db(const Surface& surface, double frequency_hz) {
    return power_db((1.0 - at_octave(surface.absorption, frequency_hz)) * (1.0 - at_octave(surface.scattering, frequency_hz)));
}

// Image number k of a coordinate between two walls: how often it has met each, and where it lies.
struct Image {
    double at = 0.0;
    int low_hits = 0, high_hits = 0;
    bool mirrored = false;
};
Image image(double at, double low, double high, int number) {
    const int times = std::abs(number), more = (times + 1) / 2, fewer = times / 2;
    const bool mirrored = number % 2 != 0;
    return {(mirrored ? low + high - at : at) + number * (high - low), number > 0 ? fewer : more,
            number > 0 ? more : fewer, mirrored};
}

}  // namespace

Hall::Hall(const plan::Plan& plan, double decay_s, bool open_air) : decay_s_(decay_s), open_air_(open_air) {
    low_ = {1e9, 1e9, 1e9};
    high_ = {-1e9, -1e9, -1e9};
    const auto include = [&](Vec3 point, double half_width_m) {
        low_ = {std::min(low_.x, point.x), std::min(low_.y, point.y - half_width_m), std::min(low_.z, point.z)};
        high_ = {std::max(high_.x, point.x), std::max(high_.y, point.y + half_width_m), std::max(high_.z, point.z)};
    };
    double ear_m = 1e9;
    for (const plan::Box& box : plan.boxes) include(box.at, 0.0);
    for (const plan::Position& position : plan.positions) {
        include(position.at, 0.0);
        ear_m = std::min(ear_m, position.at.z);
    }
    for (const plan::Area& area : plan.areas) {
        include(area.near, area.near_width_m / 2.0);
        include(area.far, area.far_width_m / 2.0);
        ear_m = std::min({ear_m, area.near.z, area.far.z});
    }
    // A stage house behind the boxes, gangways along the walls (not the same on both sides), air above the rig. The floor
    // lies at zero or, where a plan counts heights otherwise, 1.2 m below the lowest ear.
    low_ = low_ - Vec3{5.3, 1.7, 0.0};
    high_ = high_ + Vec3{2.6, 2.3, 2.4};
    low_.z = ear_m > 0.3 && ear_m < 2.5 ? std::min(0.0, low_.z - 0.3) : std::min(ear_m - 1.2, low_.z - 0.3);
    high_.z = std::max(high_.z, low_.z + 5.5);
}

std::vector<Path> Hall::paths(Vec3 source, Vec3 mic) const {
    std::vector<Path> all{{distance(source, mic), mic - source, 0, 0, 0}};
    if (open_air_) return all;
    for (int x = -highest_order; x <= highest_order; ++x)
        for (int y = -highest_order; y <= highest_order; ++y)
            for (int z = -highest_order; z <= highest_order; ++z) {
                const int order = std::abs(x) + std::abs(y) + std::abs(z);
                if (order == 0 || order > highest_order) continue;
                const Image along = image(source.x, low_.x, high_.x, x), across = image(source.y, low_.y, high_.y, y),
                            upwards = image(source.z, low_.z, high_.z, z);
                const Vec3 arriving = mic - Vec3{along.at, across.at, upwards.at};
                Path path{length(arriving), arriving, upwards.low_hits, upwards.high_hits, std::abs(x) + std::abs(y)};
                // Seen from the real source each mirror turns the direction round again.
                if (along.mirrored) path.leaving.x = -path.leaving.x;
                if (across.mirrored) path.leaving.y = -path.leaving.y;
                if (upwards.mirrored) path.leaving.z = -path.leaving.z;
                all.push_back(path);
            }
    return all;
}

double Hall::bounce_db(const Path& path, double frequency_hz) {
    double sum = 0.0;
    if (path.floor_hits > 0) sum += path.floor_hits * rehearsal::bounce_db(seats, frequency_hz);
    if (path.ceiling_hits > 0) sum += path.ceiling_hits * rehearsal::bounce_db(ceiling, frequency_hz);
    if (path.wall_hits > 0) sum += path.wall_hits * rehearsal::bounce_db(walls, frequency_hz);
    return sum;
}

double Hall::reverberant_energy(double directivity_factor) const {
    const Vec3 size = high_ - low_;
    const double absorption_m2 = 0.161 * size.x * size.y * size.z / decay_s_;  // Sabine
    return 16.0 * std::numbers::pi / (directivity_factor * absorption_m2);
}

double Hall::mean_free_path_m() const {
    const Vec3 size = high_ - low_;
    return 2.0 * size.x * size.y * size.z / (size.x * size.y + size.y * size.z + size.z * size.x);  // 4 V / S
}

}  // namespace proofwalk::rehearsal
