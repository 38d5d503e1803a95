// What a state of the unknowns sounds like: levels and arrivals, and what each unknown changes them by (in closed form but
// for the pattern, which may come from a file: differences there).
#include <algorithm>
#include <cmath>
#include <numbers>

#include "units/convert.hpp"
#include "verify/hang_model.hpp"

namespace proofwalk::verify {
namespace {

constexpr double edge_loss_db = 6.0, nearest_m = 0.1;
constexpr double audible_beside_loudest_db = 12.0;
constexpr double pattern_step_deg = 0.01;
constexpr double db_of_neper = 10.0 / std::numbers::ln10;  // of power
constexpr double usual_room_db = -16.0;  // reverberant level re the direct sound at 1 m of a source that radiates all around

double fast_power(double level_db) { return std::exp(level_db / db_of_neper); }

// From a box to a mic, along the axes of the box.
struct Ray {
    Vec3 path;
    double distance_m = 0.0, forward = 0.0, left = 0.0, up = 0.0, level_m = 0.0;  // level_m: in the plane of forward and left
    double h_deg = 0.0, v_deg = 0.0;
};

Ray ray_of(const HangModel::Hung::Box& box, Vec3 mic) {
    Ray ray;
    ray.path = mic - box.at;
    ray.distance_m = length(ray.path);
    ray.forward = dot(ray.path, box.axes.forward);
    ray.left = dot(ray.path, box.axes.left);
    ray.up = dot(ray.path, box.axes.up);
    ray.level_m = std::sqrt(ray.forward * ray.forward + ray.left * ray.left);
    ray.h_deg = degrees(std::atan2(ray.left, ray.forward));
    ray.v_deg = degrees(std::atan2(ray.up, ray.level_m));
    return ray;
}

// What a level changes by: with the path (per metre), with pan and tilt (per degree), with the pattern's shape.
struct LevelSlopes {
    Vec3 path;
    double pan = 0.0, tilt = 0.0;
    std::array<double, 4> shape{};
};

// How the angles of a ray change with its path (degrees per metre), with pan and with tilt.
struct Turning {
    Vec3 h_path, v_path;
    double h_pan = 0.0, v_pan = 0.0, h_tilt = 0.0, v_tilt = 0.0;
};

Turning turning_of(const Ray& ray, const acoustics::Axes& axes) {
    const double level = std::max(ray.level_m, 1e-6), distance2 = std::max(ray.distance_m * ray.distance_m, 1e-12);
    const Vec3 h = (1.0 / (level * level)) * (ray.forward * axes.left - ray.left * axes.forward);
    const Vec3 outwards = (1.0 / level) * (ray.forward * axes.forward + ray.left * axes.left);
    const Vec3 v = (1.0 / distance2) * (level * axes.up - ray.up * outwards);
    // A box that turns about the vertical sees the path turn the other way.
    const Vec3 turned{ray.path.y, -ray.path.x, 0.0};
    return {degrees(1.0) * h, degrees(1.0) * v, dot(h, turned), dot(v, turned), -ray.left * ray.up / (level * level), -ray.forward / level};
}

}  // namespace

HangModel::Hung HangModel::hung(const Unknowns& x) const {
    Hung hung{&x, {}};
    for (std::size_t s = 0; s < scene_.sources.size(); ++s)
        for (std::size_t b = 0; b < scene_.sources[s].boxes.size(); ++b) {
            const acoustics::Pose at = pose(x, s, b);
            hung.boxes.push_back({at.at, acoustics::axes(at.pan_deg, at.tilt_deg)});
        }
    return hung;
}

acoustics::Pose HangModel::pose(const Unknowns& x, std::size_t source, std::size_t box) const {
    acoustics::Pose pose = scene_.sources[source].boxes[box]->pose();
    const double* own = &x[layout_.figure(source, Figure::sensitivity_db)];
    pose.pan_deg += own[static_cast<std::size_t>(Figure::pan_deg)];
    pose.tilt_deg += own[static_cast<std::size_t>(Figure::tilt_deg)];
    pose.at = pose.at + Vec3{own[static_cast<std::size_t>(Figure::x_m)], own[static_cast<std::size_t>(Figure::y_m)],
                             own[static_cast<std::size_t>(Figure::z_m)]};
    return pose;
}

Vec3 HangModel::mic_place(const Unknowns& x, std::size_t position) const {
    const std::size_t at = layout_.place(position, 0);
    return scene_.positions[position]->at + Vec3{x[at], x[at + 1], x[at + 2]};
}

HangModel::Leaving HangModel::leaves(const Hung& hung, const Sound& sound) const {
    const plan::Model& model = *scene_.sources[sound.source].model;
    if (model.pattern == plan::Pattern::omni) return {};
    const Ray ray = ray_of(boxes(hung, sound.source)[0], scene_.positions[sound.position]->at);
    return {std::abs(ray.h_deg) / (0.5 * model.coverage_h_deg), ray.v_deg / (0.5 * model.coverage_v_deg), ray.forward > 0.0};
}

double HangModel::pattern_db(const Unknowns& x, std::size_t source, double h_deg, double v_deg, PatternSlopes* slopes) const {
    const plan::Model& model = *scene_.sources[source].model;
    if (model.pattern == plan::Pattern::omni) return 0.0;
    const double* shape = &x[layout_.shape(model_of_source_[source], Shape::coverage_h)];
    const double wide_h = 1.0 + shape[0], wide_v = 1.0 + shape[1];
    const double h = h_deg / wide_h, v = v_deg / wide_v;
    const auto loss_at = [&](double at_h, double at_v) {
        return model.pattern_loss->loss_db(at_h, at_v, model.aim_band_hz.low_hz, model.aim_band_hz.high_hz);
    };
    const double loss = loss_at(h, v);
    // The two planes of a horn fall each in its own way; in between each counts by its part of the way out.
    const double out_h = std::pow(h / model.coverage_h_deg, 2), out_v = std::pow(v / model.coverage_v_deg, 2);
    const double out = std::max(out_h + out_v, 1e-9), steepness = (out_h * shape[2] + out_v * shape[3]) / out;
    const double depth = std::max(-loss, 1.0) / edge_loss_db, factor = steepness == 0.0 ? 1.0 : std::pow(depth, steepness);
    if (slopes != nullptr) {
        const auto per_degree = [&](double step_h, double step_v) {
            return (loss_at(h + step_h, v + step_v) - loss_at(h - step_h, v - step_v)) / (2.0 * pattern_step_deg);
        };
        const double of_loss = -loss > 1.0 ? factor * (1.0 + steepness) : factor, of_steepness = loss * factor * std::log(depth);
        const bool inside = out_h + out_v > 1e-9;
        const double turn_h = inside ? 2.0 * h / (model.coverage_h_deg * model.coverage_h_deg) * (shape[2] - steepness) / out : 0.0;
        const double turn_v = inside ? 2.0 * v / (model.coverage_v_deg * model.coverage_v_deg) * (shape[3] - steepness) / out : 0.0;
        const double by_h = of_loss * per_degree(pattern_step_deg, 0.0) + of_steepness * turn_h;
        const double by_v = of_loss * per_degree(0.0, pattern_step_deg) + of_steepness * turn_v;
        *slopes = {by_h / wide_h, by_v / wide_v, {-by_h * h / wide_h, -by_v * v / wide_v, of_steepness * out_h / out, of_steepness * out_v / out}};
    }
    return loss * factor;
}

HangModel::AirLoss HangModel::air_loss(std::size_t source, double distance_m) const {
    double power = 0.0, taken = 0.0;
    const std::vector<double>& bands = absorption_[model_of_source_[source]];
    for (const double per_metre : bands) {
        const double left = std::exp(-per_metre * distance_m);
        power += left;
        taken += per_metre * left;
    }
    return {db_of_neper * std::log(power / static_cast<double>(bands.size())), -db_of_neper * taken / power};
}

double HangModel::loss_db(const Hung& hung, std::size_t source, Vec3 at) const {
    double loudest = -1e9, loss = 0.0;
    for (std::size_t b = 0; b < scene_.sources[source].boxes.size(); ++b) {
        const Ray ray = ray_of(boxes(hung, source)[b], at);
        const double pattern = pattern_db(*hung.x, source, ray.h_deg, ray.v_deg);
        const double level = pattern - amplitude_db(std::max(ray.distance_m, nearest_m));
        if (level > loudest) {
            loudest = level;
            loss = pattern;
        }
    }
    return loss;
}

double HangModel::level_db(const Hung& hung, std::size_t source, Vec3 at, Row* slopes) const {
    const Source& driven = scene_.sources[source];
    double power = 0.0;
    LevelSlopes sum;  // each box by its power
    for (std::size_t b = 0; b < driven.boxes.size(); ++b) {
        const Hung::Box& box = boxes(hung, source)[b];
        const Ray ray = ray_of(box, at);
        const double distance = std::max(ray.distance_m, nearest_m);
        const AirLoss air = air_loss(source, distance);
        PatternSlopes pattern;
        const double own = fast_power(driven.boxes[b]->gain_db - driven.boxes.front()->gain_db - amplitude_db(distance) + air.db +
                                      pattern_db(*hung.x, source, ray.h_deg, ray.v_deg, slopes != nullptr ? &pattern : nullptr));
        power += own;
        if (slopes == nullptr) continue;
        const Turning turning = turning_of(ray, box.axes);
        const double along = ray.distance_m > nearest_m ? air.db_per_m - 2.0 * db_of_neper / distance : 0.0;
        sum.path = sum.path + own * ((along / distance) * ray.path + pattern.h * turning.h_path + pattern.v * turning.v_path);
        sum.pan += own * (pattern.h * turning.h_pan + pattern.v * turning.v_pan);
        sum.tilt += own * (pattern.h * turning.h_tilt + pattern.v * turning.v_tilt);
        for (std::size_t k = 0; k < sum.shape.size(); ++k) sum.shape[k] += own * pattern.shape[k];
    }
    if (slopes != nullptr) {
        const auto add = [&](Figure figure, double slope) { slopes->add(layout_.figure(source, figure), slope); };
        add(Figure::sensitivity_db, 1.0);
        add(Figure::x_m, -sum.path.x / power);
        add(Figure::y_m, -sum.path.y / power);
        add(Figure::z_m, -sum.path.z / power);
        if (driven.model->pattern == plan::Pattern::beam) {
            add(Figure::pan_deg, sum.pan / power);
            add(Figure::tilt_deg, sum.tilt / power);
            for (std::size_t k = 0; k < sum.shape.size(); ++k)
                slopes->add(layout_.shape(model_of_source_[source], static_cast<Shape>(k)), sum.shape[k] / power);
        }
    }
    return (*hung.x)[layout_.figure(source, Figure::sensitivity_db)] + driven.signal_gain_db + db_of_neper * std::log(power);
}

double HangModel::drive_latency_ms(const Unknowns& x) const {
    return scene_.plan->drive_latency_ms.value_or(0.0) + x[layout_.latency()];
}

double HangModel::arrival_ms(const Hung& hung, std::size_t source, Vec3 at, Row* slopes) const {
    const Source& driven = scene_.sources[source];
    const Unknowns& x = *hung.x;
    const double speed = speed_m_s_ * (1.0 + x[layout_.speed()]);
    const std::size_t latency = layout_.shape(model_of_source_[source], Shape::latency_ms);
    const auto level = [&](std::size_t b) {
        if (driven.boxes.size() == 1) return 0.0;
        const Ray ray = ray_of(boxes(hung, source)[b], at);
        return driven.boxes[b]->gain_db - amplitude_db(std::max(ray.distance_m, nearest_m)) + pattern_db(x, source, ray.h_deg, ray.v_deg);
    };
    double loudest = -1e9;
    for (std::size_t b = 0; b < driven.boxes.size(); ++b) loudest = std::max(loudest, level(b));
    double first = 1e9;
    Vec3 path;
    for (std::size_t b = 0; b < driven.boxes.size(); ++b) {
        const Vec3 way = at - boxes(hung, source)[b].at;
        const double arrives = 1e3 * length(way) / speed + driven.boxes[b]->delay_ms - driven.boxes.front()->delay_ms;
        if (arrives >= first || level(b) < loudest - audible_beside_loudest_db) continue;
        first = arrives;
        path = way;
    }
    if (slopes != nullptr) {
        const double distance = length(path);
        const Vec3 per_metre = (1e3 / (speed * std::max(distance, nearest_m))) * path;
        slopes->add(layout_.figure(source, Figure::x_m), -per_metre.x);
        slopes->add(layout_.figure(source, Figure::y_m), -per_metre.y);
        slopes->add(layout_.figure(source, Figure::z_m), -per_metre.z);
        slopes->add(layout_.speed(), -1e3 * distance / (speed * (1.0 + x[layout_.speed()])));
        for (const std::size_t adds : {layout_.figure(source, Figure::delay_ms), latency, layout_.latency()}) slopes->add(adds, 1.0);
    }
    return first + driven.signal_delay_ms + driven.model->latency_ms + x[layout_.figure(source, Figure::delay_ms)] + x[latency] +
           drive_latency_ms(x);
}

void HangModel::add_mic_place(Row& slopes, const Sound& sound) const {
    const std::size_t box = layout_.figure(sound.source, Figure::x_m);
    for (std::size_t t = 0, terms = slopes.size(); t < terms; ++t)
        if (slopes[t].at - box < 3) slopes.add(layout_.place(sound.position, slopes[t].at - box), -slopes[t].slope);
}

double HangModel::level_at_mic_db(const Hung& hung, const Sound& sound, Row* slopes) const {
    const Source& driven = scene_.sources[sound.source];
    const Unknowns& x = *hung.x;
    const double direct = level_db(hung, sound.source, mic_place(x, sound.position), slopes) + x[layout_.mic(sound.mic)];
    if (slopes != nullptr) {
        add_mic_place(*slopes, sound);
        slopes->add(layout_.mic(sound.mic), 1.0);
    }
    if (!measured_by_full_sound(*driven.model)) return direct;
    const std::size_t level = layout_.figure(sound.source, Figure::sensitivity_db), of_room = layout_.shape(model_of_source_[sound.source], Shape::room_db);
    const double room = x[level] + driven.signal_gain_db + usual_room_db + x[of_room];
    const double direct_power = fast_power(direct), power = direct_power + fast_power(room);
    if (slopes != nullptr) {
        slopes->scale(direct_power / power);
        slopes->add(level, 1.0 - direct_power / power);
        slopes->add(of_room, 1.0 - direct_power / power);
    }
    return db_of_neper * std::log(power);
}

double HangModel::arrival_at_mic_ms(const Hung& hung, const Sound& sound, Row* slopes) const {
    const double arrival = arrival_ms(hung, sound.source, mic_place(*hung.x, sound.position), slopes);
    if (slopes != nullptr) {
        add_mic_place(*slopes, sound);
        if (sound.untimed_take) slopes->add(layout_.take(*sound.untimed_take), 1.0);
    }
    return arrival + (sound.untimed_take ? (*hung.x)[layout_.take(*sound.untimed_take)] : 0.0);
}

double HangModel::band_loss_db(const Hung& hung, const Band& band) const {
    const Sound& sound = scene_.sounds[band.sound];
    const Ray ray = ray_of(boxes(hung, sound.source)[0], scene_.positions[sound.position]->at);
    return scene_.sources[sound.source].model->pattern_loss->loss_db(ray.h_deg, ray.v_deg, band.middle_hz);
}

// Beside the aim band where a mic stands, and how loud it is, falls out: what is left is the direction.
double HangModel::band_at_mic_db(const Hung& hung, const Band& band, Row* slopes) const {
    const Sound& sound = scene_.sounds[band.sound];
    const plan::Model& model = *scene_.sources[sound.source].model;
    const Unknowns& x = *hung.x;
    const Hung::Box& box = boxes(hung, sound.source)[0];
    const Ray ray = ray_of(box, mic_place(x, sound.position));
    const double* shape = &x[layout_.shape(model_of_source_[sound.source], Shape::coverage_h)];
    const double h = ray.h_deg / (1.0 + shape[0]), v = ray.v_deg / (1.0 + shape[1]);
    const auto beside = [&](double at_h, double at_v) {
        return model.pattern_loss->loss_db(at_h, at_v, band.middle_hz) -
               model.pattern_loss->loss_db(at_h, at_v, model.aim_band_hz.low_hz, model.aim_band_hz.high_hz);
    };
    const double air = -band.air_db_per_m * ray.distance_m - air_loss(sound.source, ray.distance_m).db;
    if (slopes != nullptr) {
        const double by_h = (beside(h + pattern_step_deg, v) - beside(h - pattern_step_deg, v)) / (2.0 * pattern_step_deg * (1.0 + shape[0]));
        const double by_v = (beside(h, v + pattern_step_deg) - beside(h, v - pattern_step_deg)) / (2.0 * pattern_step_deg * (1.0 + shape[1]));
        const Turning turning = turning_of(ray, box.axes);
        const Vec3 path = by_h * turning.h_path + by_v * turning.v_path;
        const auto add = [&](Figure figure, double slope) { slopes->add(layout_.figure(sound.source, figure), slope); };
        add(Figure::x_m, -path.x);
        add(Figure::y_m, -path.y);
        add(Figure::z_m, -path.z);
        add_mic_place(*slopes, sound);
        add(Figure::pan_deg, by_h * turning.h_pan + by_v * turning.v_pan);
        add(Figure::tilt_deg, by_h * turning.h_tilt + by_v * turning.v_tilt);
        slopes->add(layout_.shape(model_of_source_[sound.source], Shape::coverage_h), -by_h * h);
        slopes->add(layout_.shape(model_of_source_[sound.source], Shape::coverage_v), -by_v * v);
        slopes->add(layout_.tone(band.tone), 1.0);
    }
    return x[layout_.tone(band.tone)] + beside(h, v) + air;
}

}  // namespace proofwalk::verify
