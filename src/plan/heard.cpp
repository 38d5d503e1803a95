#include "plan/heard.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include "acoustics/splay.hpp"
#include "units/convert.hpp"

namespace proofwalk::plan {
namespace {

// A mic's height and place by tape, and the seats between: a bounce comes so much sooner or later than the drawing says.
constexpr double bounce_tolerance_s = 0.3e-3, bounce_tolerance_share = 0.12;
constexpr double beside_edge_m = 2.0;  // aisles belong to the floor too

// By way of the floor under an area, against the direct way; nothing where that way misses the area.
std::optional<double> longer_by_m(const Area& area, Vec3 from, Vec3 to, double ear_height_m) {
    const Vec3 near = area.near - Vec3{0.0, 0.0, ear_height_m}, rise = area.far - area.near;
    const double depth = length(rise);
    if (!(depth > 0.0)) return std::nullopt;
    const Vec3 ahead = (1.0 / depth) * rise;
    const double level = std::hypot(ahead.x, ahead.y);
    if (!(level > 0.0)) return std::nullopt;
    const Vec3 aside{-ahead.y / level, ahead.x / level, 0.0}, up = cross(ahead, aside);
    const double above = dot(from - near, up), height = dot(to - near, up);
    if (!(above > 0.0) || !(height > 0.0)) return std::nullopt;
    const Vec3 at = from + (above / (above + height)) * (to - 2.0 * height * up - from);
    const double along = dot(at - near, ahead);
    const double width_m = area.near_width_m + (area.far_width_m - area.near_width_m) * std::clamp(along / depth, 0.0, 1.0);
    if (along < -beside_edge_m || along > depth + beside_edge_m || std::abs(dot(at - near, aside)) > width_m / 2.0 + beside_edge_m)
        return std::nullopt;
    return distance(from, to - 2.0 * height * up) - distance(from, to);
}

}  // namespace

std::vector<Heard> heard_at(const Plan& plan, const Position& position, const acoustics::Air& air, double audible_db) {
    std::vector<Target> all;
    for (const Box& box : plan.boxes) all.push_back(target(plan, box, position, air));
    std::ranges::stable_sort(all, std::ranges::greater{}, &Target::aim_band_db);
    std::vector<Heard> heard;
    for (const Target& one : all) {
        const double below = one.aim_band_db - all.front().aim_band_db;
        if (below < -audible_db) break;
        heard.push_back({one.box, one.circuit, below, 1000.0 * (one.arrival_s - all.front().arrival_s)});
    }
    return heard;
}

double floor_bounce_s(const Box& box, const Position& position, const acoustics::Air& air, double ear_height_m) {
    const double floor = position.at.z - ear_height_m;
    const Vec3 mirrored{position.at.x, position.at.y, floor - ear_height_m};
    return (distance(box.at, mirrored) - distance(box.at, position.at)) / acoustics::speed_of_sound(air).value;
}

std::vector<std::string> likely_surfaces(const Plan& plan, const Box& box, const Position& position, const acoustics::Air& air,
                                         const std::vector<double>& after_s, double ear_height_m) {
    const double speed = acoustics::speed_of_sound(air).value;
    std::vector<std::string> surfaces(after_s.size());
    const auto give = [&](double expected_s, const std::string& name) {
        double nearest = bounce_tolerance_s + bounce_tolerance_share * expected_s;
        std::size_t best = after_s.size();
        for (std::size_t i = 0; i < after_s.size(); ++i) {
            const double off = std::abs(after_s[i] - expected_s);
            if (off < nearest) nearest = off, best = i;
        }
        if (best < after_s.size() && surfaces[best].empty()) surfaces[best] = name;
    };
    if (plan.areas.empty()) give(floor_bounce_s(box, position, air, ear_height_m), "floor");
    for (const Area& area : plan.areas)
        if (const auto longer = longer_by_m(area, box.at, position.at, ear_height_m)) give(*longer / speed, area.id);
    return surfaces;
}

Together together(const Plan& plan, const Box& first, const Box& second, const Position& position, const acoustics::Air& air) {
    const Target a = target(plan, first, position, air), b = target(plan, second, position, air);
    const auto inverted = [&](const Box& box) { return box.inverted != plan.model_of(box).inverted; };
    const bool opposed = inverted(first) != inverted(second);
    Together sum;
    sum.apart_ms = 1000.0 * (b.arrival_s - a.arrival_s);
    for (std::size_t band = 0; band < band_count; ++band) {
        const bool one = a.shape_db.has(band), two = b.shape_db.has(band);
        if (one && two) {
            sum.power_db[band] = power_db(power_of_db(a.shape_db[band]) + power_of_db(b.shape_db[band]));
            const double coherent = acoustics::coherent_sum_db(a.shape_db[band], b.shape_db[band], b.arrival_s - a.arrival_s, lower_edge_hz(band), upper_edge_hz(band));
            // Opposed polarity turns the sign of the interference: what the one gains above the power sum the other loses.
            const double opposite = 2.0 * power_of_db(sum.power_db[band]) - power_of_db(coherent);
            sum.coherent_db[band] = opposed ? power_db(std::max(opposite, 1e-30)) : coherent;
        } else if (one || two) {
            sum.power_db[band] = sum.coherent_db[band] = one ? a.shape_db[band] : b.shape_db[band];
        }
    }
    return sum;
}

}  // namespace proofwalk::plan
