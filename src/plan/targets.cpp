#include "plan/targets.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "units/convert.hpp"

namespace proofwalk::plan {
namespace {

// Nearer than this a box is no point source and the distance law means nothing; levels stay finite.
constexpr double nearest_m = 0.1;

double spreading_db(double distance_m) { return -amplitude_db(std::max(distance_m, nearest_m)); }

// What does not change from path to path: worked out once for a whole table.
struct Medium {
    double speed = 0.0;
    std::array<double, band_count> absorption{};  // dB/m

    explicit Medium(const acoustics::Air& air) : speed(acoustics::speed_of_sound(air).value) {
        for (std::size_t band = 0; band < band_count; ++band)
            absorption[band] = acoustics::absorption_db_per_m(air, midband_hz(band));
    }
};

Target target_in(const Plan& plan, const Box& box, const Position& position, const acoustics::Air& air, const Medium& medium) {
    const Model& model = plan.model_of(box);
    Target target;
    target.circuit = box.circuit;
    target.box = box.id;
    target.position = position.id;
    target.bearing = acoustics::bearing(box.pose(), position.at);
    const auto& [distance, h, v] = target.bearing;
    target.travel_s = distance / medium.speed;
    target.arrival_s = target.travel_s + (box.delay_ms + model.latency_ms + plan.drive_latency_ms.value_or(0.0)) / 1000.0;

    const Band aim = model.aim_band_hz;
    target.loss_db = model.pattern_loss->loss_db(h, v, aim.low_hz, aim.high_hz);
    target.air_db = path_loss_db(distance, air, aim) - spreading_db(distance);

    const double flat_db = box.gain_db + model.level_1m_db.value_or(0.0) + spreading_db(distance);
    const auto level_at = [&](std::size_t band) {
        return flat_db - medium.absorption[band] * distance + model.pattern_loss->loss_db(h, v, midband_hz(band));
    };
    const auto [first, last] = bands_inside(model.range_hz.low_hz, model.range_hz.high_hz);
    for (std::size_t band = first; band < last; ++band) target.shape_db[band] = level_at(band);

    const double in_shape = power_mean_db(target.shape_db, aim.low_hz, aim.high_hz);
    target.aim_band_db = std::isfinite(in_shape) ? in_shape : flat_db + target.air_db + target.loss_db;
    target.serves = std::ranges::any_of(position.serves, [&](const Serve& serve) {
        return std::ranges::find(serve.boxes, box.id) != serve.boxes.end();
    });
    return target;
}

}  // namespace

Target target(const Plan& plan, const Box& box, const Position& position, const acoustics::Air& air) {
    return target_in(plan, box, position, air, Medium(air));
}

std::vector<Target> targets(const Plan& plan, const acoustics::Air& air) {
    const Medium medium(air);
    std::vector<Target> all;
    all.reserve(plan.boxes.size() * plan.positions.size());
    for (const Box& box : plan.boxes)
        for (const Position& position : plan.positions) all.push_back(target_in(plan, box, position, air, medium));
    return all;
}

double path_loss_db(double distance_m, const acoustics::Air& air, double frequency_hz) {
    return spreading_db(distance_m) - acoustics::absorption_db_per_m(air, frequency_hz) * distance_m;
}

double path_loss_db(double distance_m, const acoustics::Air& air, Band band) {
    return acoustics::band_mean_db(band.low_hz, band.high_hz,
                                   [&](double frequency_hz) { return path_loss_db(distance_m, air, frequency_hz); });
}

}  // namespace proofwalk::plan
