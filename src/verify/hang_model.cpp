#include "verify/hang_model.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>

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
constexpr double room_u_db = 5.0;
constexpr double fixed = 1e-6;
// Third octaves that tell a direction by a measured pattern: below, rooms are in them, above, air and the mic's own size.
constexpr double lowest_told_hz = 600.0, highest_told_hz = 12500.0;
constexpr double clear_of_noise_db = 10.0, unstated_u_db = 0.3, mic_ripple_u_db = 0.3;
constexpr double one_direction = 0.25;  // half coverage angles

std::size_t known_or_added(std::vector<const plan::Model*>& models, const plan::Model* model) {
    const auto found = std::ranges::find(models, model);
    if (found != models.end()) return static_cast<std::size_t>(found - models.begin());
    models.push_back(model);
    return models.size() - 1;
}

}  // namespace

Layout::Layout(const Scene& scene, std::size_t models, std::size_t directions, std::size_t tones) {
    places_ = scene.sources.size() * figures_per_source;
    mics_ = places_ + scene.positions.size() * 3;
    models_ = mics_ + scene.mics.size();
    directions_ = models_ + models * figures_per_model;
    speed_ = directions_ + directions;
    tones_ = speed_ + 3 + scene.untimed_takes.size();
    size_ = tones_ + tones;
}

HangModel::HangModel(Scene scene) : scene_(std::move(scene)) {
    std::size_t boxes = 0;
    for (const Source& source : scene_.sources) {
        model_of_source_.push_back(known_or_added(models_, source.model));
        first_box_.push_back(boxes);
        boxes += source.boxes.size();
    }
    for (const plan::Model* model : models_) {
        std::vector<double> bands;
        const auto [first, last] = bands_inside(model->aim_band_hz.low_hz, model->aim_band_hz.high_hz);
        for (std::size_t band = first; band < last; ++band)
            bands.push_back(acoustics::absorption_db_per_m(scene_.air, midband_hz(band)));
        if (bands.empty()) {
            const double middle_hz = std::sqrt(model->aim_band_hz.low_hz * model->aim_band_hz.high_hz);
            bands.push_back(acoustics::absorption_db_per_m(scene_.air, middle_hz));
        }
        for (double& band : bands) band *= std::numbers::ln10 / 10.0;
        absorption_.push_back(bands);
    }
    const Measured speed = acoustics::speed_of_sound(scene_.air);
    speed_m_s_ = speed.value;
    speed_u_m_s_ = std::hypot(speed.u, acoustics::speed_u_from_temperature(scene_.air, scene_.plan->rules.temperature_u_c));
    group_directions();
    list_bands();
    layout_ = Layout(scene_, models_.size(), directions_, tones_);
    set_priors();
}

void HangModel::group_directions() {
    struct Group {
        std::size_t model = 0;
        Leaving towards;
    };
    std::vector<Group> groups;
    const Unknowns as_planned(scene_.sources.size() * figures_per_source, 0.0);
    const Hung planned = hung(as_planned);
    for (const Sound& sound : scene_.sounds) {
        const std::size_t model = model_of_source_[sound.source];
        const Leaving towards = leaves(planned, sound);
        const auto near = std::ranges::find_if(groups, [&](const Group& group) {
            return group.model == model && std::hypot(group.towards.h - towards.h, group.towards.v - towards.v) < one_direction;
        });
        direction_of_sound_.push_back(static_cast<std::size_t>(near - groups.begin()));
        if (near == groups.end()) groups.push_back({model, towards});
    }
    directions_ = groups.size();
}

void HangModel::list_bands() {
    std::map<std::pair<std::size_t, std::size_t>, std::size_t> known;
    for (std::size_t s = 0; s < scene_.sounds.size(); ++s) {
        const Sound& sound = scene_.sounds[s];
        const Source& source = scene_.sources[sound.source];
        const plan::Model& model = *source.model;
        if (model.directivity.empty() || source.boxes.size() > 1 || measured_by_full_sound(model) || sound.reading == nullptr || !sound.level_db) continue;
        const signal::Reading& reading = *sound.reading;
        const auto [first, last] = bands_inside(std::max(model.range_hz.low_hz, lowest_told_hz), std::min(model.range_hz.high_hz, highest_told_hz));
        for (std::size_t band = first; band < last; ++band) {
            if (lower_edge_hz(band) < reading.gate_resolves_from_hz || !reading.direct_db.has(band)) continue;
            if (reading.noise_db.has(band) && reading.direct_db[band] < reading.noise_db[band] + clear_of_noise_db) continue;
            const double u = std::isfinite(reading.direct_u_db[band]) ? reading.direct_u_db[band] : unstated_u_db;
            const std::size_t tone = known.try_emplace({sound.source, band}, known.size()).first->second;
            const double middle_hz = midband_hz(band), beside_db = reading.direct_db[band] - sound.level_db->value;
            bands_.push_back({s, tone, middle_hz, acoustics::absorption_db_per_m(scene_.air, middle_hz), {beside_db, std::hypot(u, mic_ripple_u_db)}});
        }
    }
    tones_ = known.size();
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
    set(layout_.bounce(), {1.0, 0.0, "bounce within the gate"});
    for (std::size_t t = 0; t < tones_; ++t) set(layout_.tone(t), {any_level_db, 0.0, "nothing known of the response"});
    for (std::size_t t = 0; t < scene_.untimed_takes.size(); ++t)
        set(layout_.take(t), {any_time_ms, 0.0, "start of the take"});
}

}  // namespace proofwalk::verify
