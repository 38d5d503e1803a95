#include "plan/heard.hpp"

#include <algorithm>
#include <cmath>

#include "acoustics/splay.hpp"
#include "units/convert.hpp"

namespace proofwalk::plan {

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
