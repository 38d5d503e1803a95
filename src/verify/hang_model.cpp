#include "verify/hang_model.hpp"

#include <algorithm>
#include <cmath>

#include "units/convert.hpp"

namespace proofwalk::verify {
namespace {

// What riggers and processors do when nothing is wrong; heavy tails keep a real fault from being pulled to the plan.
constexpr double hang_place_u_m = 0.06, hang_place_freedom = 3.0;
constexpr double delay_u_ms = 0.1, delay_freedom = 2.0;
// No prior opinion: wide beside anything that the sound can say.
constexpr double any_level_db = 100.0, any_time_ms = 1e4;
constexpr double any_angle_deg = 4.0, any_angle_freedom = 1.0;
// The beam model is a parabola; real patterns fall faster or slower than it away from -6 dB, where all agree.
constexpr double beam_steepness_u = 0.15, file_steepness_u = 0.04;
constexpr double model_latency_u_ms = 0.15;  // group delay of the box's crossover, seen by the first arrival
constexpr double drive_latency_u_ms = 0.01;  // of a planned one
constexpr double matched_mic_u_db = 0.05;
// Reverberant level re the direct sound at 1 m of a source that radiates all around.
constexpr double usual_room_db = -16.0, room_u_db = 5.0;
constexpr double fixed = 1e-6;
constexpr double one_direction = 0.25;  // half coverage angles

constexpr double edge_loss_db = 6.0, nearest_m = 0.1;
constexpr double audible_beside_loudest_db = 12.0;

std::size_t known_or_added(std::vector<const plan::Model*>& models, const plan::Model* model) {
    const auto found = std::ranges::find(models, model);
    if (found != models.end()) return static_cast<std::size_t>(found - models.begin());
    models.push_back(model);
    return models.size() - 1;
}

}  // namespace

Layout::Layout(const Scene& scene, std::size_t models, std::size_t directions) {
    places_ = scene.sources.size() * figures_per_source;
    mics_ = places_ + scene.positions.size() * 3;
    models_ = mics_ + scene.mics.size();
    directions_ = models_ + models * figures_per_model;
    speed_ = directions_ + directions;
    size_ = speed_ + 2 + scene.untimed_takes.size();
}

HangModel::HangModel(Scene scene) : scene_(std::move(scene)) {
    for (const Source& source : scene_.sources) model_of_source_.push_back(known_or_added(models_, source.model));
    for (const plan::Model* model : models_) {
        std::vector<double> bands;
        const auto [first, last] = bands_inside(model->aim_band_hz.low_hz, model->aim_band_hz.high_hz);
        for (std::size_t band = first; band < last; ++band)
            bands.push_back(acoustics::absorption_db_per_m(scene_.air, midband_hz(band)));
        if (bands.empty()) {
            const double middle_hz = std::sqrt(model->aim_band_hz.low_hz * model->aim_band_hz.high_hz);
            bands.push_back(acoustics::absorption_db_per_m(scene_.air, middle_hz));
        }
        absorption_.push_back(bands);
    }
    const Measured speed = acoustics::speed_of_sound(scene_.air);
    speed_m_s_ = speed.value;
    speed_u_m_s_ = std::hypot(speed.u, acoustics::speed_u_from_temperature(scene_.air, scene_.plan->rules.temperature_u_c));
    group_directions();
    layout_ = Layout(scene_, models_.size(), directions_);
    set_priors();
}

void HangModel::group_directions() {
    struct Group {
        std::size_t model = 0;
        std::array<double, 2> towards{};
    };
    std::vector<Group> groups;
    const Unknowns planned(scene_.sources.size() * figures_per_source, 0.0);
    for (const Sound& sound : scene_.sounds) {
        const std::size_t model = model_of_source_[sound.source];
        const std::array<double, 2> towards = leaves(planned, sound);
        const auto near = std::ranges::find_if(groups, [&](const Group& group) {
            return group.model == model &&
                   std::hypot(group.towards[0] - towards[0], group.towards[1] - towards[1]) < one_direction;
        });
        direction_of_sound_.push_back(static_cast<std::size_t>(near - groups.begin()));
        if (near == groups.end()) groups.push_back({model, towards});
    }
    directions_ = groups.size();
}

std::array<double, 2> HangModel::leaves(const Unknowns& x, const Sound& sound) const {
    const plan::Model& model = *scene_.sources[sound.source].model;
    if (model.pattern == plan::Pattern::omni) return {0.0, 0.0};
    const auto seen = acoustics::bearing(pose(x, sound.source, 0), scene_.positions[sound.position]->at);
    return {std::abs(seen.h_deg) / (0.5 * model.coverage_h_deg), seen.v_deg / (0.5 * model.coverage_v_deg)};
}

void HangModel::set_priors() {
    const plan::Plan& plan = *scene_.plan;
    priors_.resize(layout_.size());
    const auto set = [&](std::size_t at, Prior prior) { priors_[at] = prior; };
    for (std::size_t s = 0; s < scene_.sources.size(); ++s) {
        const bool aims = scene_.sources[s].model->pattern == plan::Pattern::beam;
        set(layout_.figure(s, Figure::sensitivity_db), {any_level_db, 0.0, "nothing known of the level"});
        for (const Figure angle : {Figure::pan_deg, Figure::tilt_deg})
            set(layout_.figure(s, angle), {aims ? any_angle_deg : fixed, aims ? any_angle_freedom : 0.0, "nothing known of the aim"});
        for (const Figure axis : {Figure::x_m, Figure::y_m, Figure::z_m})
            set(layout_.figure(s, axis), {hang_place_u_m, hang_place_freedom, "place of the box"});
        set(layout_.figure(s, Figure::delay_ms), {delay_u_ms, delay_freedom, "delay setting"});
    }
    for (std::size_t p = 0; p < scene_.positions.size(); ++p)
        for (std::size_t axis = 0; axis < 3; ++axis)
            set(layout_.place(p, axis), {scene_.positions[p]->place_u_m.value_or(plan.rules.mic_place_m), 0.0, "mic place"});
    for (std::size_t m = 0; m < scene_.mics.size(); ++m)
        set(layout_.mic(m), {scene_.mic_matched[m] ? matched_mic_u_db : plan.rules.mic_match_db, 0.0, "mic match"});
    for (std::size_t k = 0; k < models_.size(); ++k) {
        const bool aims = models_[k]->pattern == plan::Pattern::beam;
        const double coverage_u = aims ? models_[k]->coverage_u_pct / 100.0 : fixed;
        const double steepness_u = models_[k]->directivity.empty() ? beam_steepness_u : file_steepness_u;
        set(layout_.shape(k, Shape::coverage_h), {coverage_u, 0.0, "directivity"});
        set(layout_.shape(k, Shape::coverage_v), {coverage_u, 0.0, "directivity"});
        for (const Shape steepness : {Shape::steepness_h, Shape::steepness_v})
            set(layout_.shape(k, steepness), {aims ? steepness_u : fixed, 0.0, "directivity"});
        set(layout_.shape(k, Shape::room_db), {measured_by_full_sound(*models_[k]) ? room_u_db : fixed, 0.0, "room"});
        set(layout_.shape(k, Shape::latency_ms), {model_latency_u_ms, 0.0, "group delay of the box"});
    }
    for (std::size_t d = 0; d < directions_; ++d) set(layout_.direction(d), {1.0, 0.0, "directivity"});
    set(layout_.speed(), {speed_u_m_s_ / speed_m_s_, 0.0, "air"});
    set(layout_.latency(), {plan.drive_latency_ms ? drive_latency_u_ms : any_time_ms, 0.0, "drive latency"});
    for (std::size_t t = 0; t < scene_.untimed_takes.size(); ++t)
        set(layout_.take(t), {any_time_ms, 0.0, "start of the take"});
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

double HangModel::pattern_db(const Unknowns& x, std::size_t source, double h_deg, double v_deg) const {
    const plan::Model& model = *scene_.sources[source].model;
    if (model.pattern == plan::Pattern::omni) return 0.0;
    const std::size_t k = model_of_source_[source];
    const double h = h_deg / (1.0 + x[layout_.shape(k, Shape::coverage_h)]);
    const double v = v_deg / (1.0 + x[layout_.shape(k, Shape::coverage_v)]);
    const double loss = model.pattern_loss->loss_db(h, v, model.aim_band_hz.low_hz, model.aim_band_hz.high_hz);
    // The two planes of a horn fall each in its own way; in between each counts by its part of the way out.
    const double out_h = std::pow(h / model.coverage_h_deg, 2), out_v = std::pow(v / model.coverage_v_deg, 2);
    const double steepness = (out_h * x[layout_.shape(k, Shape::steepness_h)] + out_v * x[layout_.shape(k, Shape::steepness_v)]) /
                             std::max(out_h + out_v, 1e-9);
    return loss * std::pow(std::max(-loss, 1.0) / edge_loss_db, steepness);
}

double HangModel::air_db(std::size_t source, double distance_m) const {
    const std::vector<double>& bands = absorption_[model_of_source_[source]];
    double power = 0.0;
    for (const double per_metre : bands) power += power_of_db(-per_metre * distance_m);
    return power_db(power / static_cast<double>(bands.size()));
}

double HangModel::loss_db(const Unknowns& x, std::size_t source, Vec3 at) const {
    double loudest = -1e9, loss = 0.0;
    for (std::size_t b = 0; b < scene_.sources[source].boxes.size(); ++b) {
        const auto bearing = acoustics::bearing(pose(x, source, b), at);
        const double pattern = pattern_db(x, source, bearing.h_deg, bearing.v_deg);
        const double level = pattern - amplitude_db(std::max(bearing.distance_m, nearest_m));
        if (level > loudest) {
            loudest = level;
            loss = pattern;
        }
    }
    return loss;
}

double HangModel::level_db(const Unknowns& x, std::size_t source, Vec3 at) const {
    const Source& driven = scene_.sources[source];
    double power = 0.0;
    for (std::size_t b = 0; b < driven.boxes.size(); ++b) {
        const auto bearing = acoustics::bearing(pose(x, source, b), at);
        const double distance = std::max(bearing.distance_m, nearest_m);
        power += power_of_db(driven.boxes[b]->gain_db - driven.boxes.front()->gain_db - amplitude_db(distance) +
                             air_db(source, distance) + pattern_db(x, source, bearing.h_deg, bearing.v_deg));
    }
    return x[layout_.figure(source, Figure::sensitivity_db)] + driven.signal_gain_db + power_db(power);
}

double HangModel::drive_latency_ms(const Unknowns& x) const {
    return scene_.plan->drive_latency_ms.value_or(0.0) + x[layout_.latency()];
}

double HangModel::arrival_ms(const Unknowns& x, std::size_t source, Vec3 at) const {
    const Source& driven = scene_.sources[source];
    const double speed = speed_m_s_ * (1.0 + x[layout_.speed()]);
    const auto path = [&](std::size_t b, double& level) {
        const auto bearing = acoustics::bearing(pose(x, source, b), at);
        level = driven.boxes[b]->gain_db - amplitude_db(std::max(bearing.distance_m, nearest_m)) +
                (driven.boxes.size() > 1 ? pattern_db(x, source, bearing.h_deg, bearing.v_deg) : 0.0);
        return 1e3 * bearing.distance_m / speed + driven.boxes[b]->delay_ms - driven.boxes.front()->delay_ms;
    };
    double loudest = -1e9, level = 0.0;
    for (std::size_t b = 0; b < driven.boxes.size(); ++b) {
        path(b, level);
        loudest = std::max(loudest, level);
    }
    double first = 1e9;
    for (std::size_t b = 0; b < driven.boxes.size(); ++b) {
        const double arrives = path(b, level);
        if (level >= loudest - audible_beside_loudest_db) first = std::min(first, arrives);
    }
    return first + driven.signal_delay_ms + driven.model->latency_ms + x[layout_.figure(source, Figure::delay_ms)] +
           x[layout_.shape(model_of_source_[source], Shape::latency_ms)] + drive_latency_ms(x);
}

double HangModel::level_at_mic_db(const Unknowns& x, const Sound& sound) const {
    const Source& driven = scene_.sources[sound.source];
    const double direct = level_db(x, sound.source, mic_place(x, sound.position)) + x[layout_.mic(sound.mic)];
    if (!measured_by_full_sound(*driven.model)) return direct;
    const double room = x[layout_.figure(sound.source, Figure::sensitivity_db)] + driven.signal_gain_db + usual_room_db +
                        x[layout_.shape(model_of_source_[sound.source], Shape::room_db)];
    return power_db(power_of_db(direct) + power_of_db(room));
}

double HangModel::arrival_at_mic_ms(const Unknowns& x, const Sound& sound) const {
    const double start = sound.untimed_take ? x[layout_.take(*sound.untimed_take)] : 0.0;
    return arrival_ms(x, sound.source, mic_place(x, sound.position)) + start;
}

std::vector<std::size_t> HangModel::touched_by(const Sound& sound) const {
    std::vector<std::size_t> touched;
    for (std::size_t f = 0; f < figures_per_source; ++f) touched.push_back(layout_.figure(sound.source, static_cast<Figure>(f)));
    for (std::size_t axis = 0; axis < 3; ++axis) touched.push_back(layout_.place(sound.position, axis));
    for (std::size_t shape = 0; shape < figures_per_model; ++shape)
        touched.push_back(layout_.shape(model_of_source_[sound.source], static_cast<Shape>(shape)));
    touched.insert(touched.end(), {layout_.mic(sound.mic), layout_.speed(), layout_.latency()});
    if (sound.untimed_take) touched.push_back(layout_.take(*sound.untimed_take));
    return touched;
}

}  // namespace proofwalk::verify
