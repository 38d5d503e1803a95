#include "verify/hang_evidence.hpp"

#include <algorithm>
#include <cmath>

#include "plan/heard.hpp"

namespace proofwalk::verify {
namespace {

using Kind = Observation::Kind;

// A pattern is trusted less the further it has fallen, and not at all near its floor or behind the box.
constexpr double trusted_loss_db = -8.0, useless_arrival_loss_db = -20.0;
constexpr double pattern_u_per_db = 0.12;
// The part of the pattern's uncertainty that differs between mirrored directions and between boxes of a model: measured on a
// two-way PA box left and right agree within 0.05 dB in the aim band where pattern_u_db is 0.3; twice that is allowed.
constexpr double own_share = 0.33;
constexpr double same_direction = 0.3;  // half coverage angles over which what a pattern deviates by is the same
constexpr double band_share = 1.7;      // of the pattern's uncertainty in the aim band: of one of its third octaves
constexpr double axis_share = 0.4;      // of the pattern's uncertainty on the axis, where loss is nil by definition
constexpr double arrival_u_ms = 0.02, arrival_u_ms_per_db = 0.01;
constexpr double lowest_reading_u_db = 0.1;
// A floor bounce so soon after the direct sound that no gate parts the two in the aim band, and what comes with it from other
// surfaces: what taking it off leaves. Rooms add where they add, so most of it is common to places so far away.
constexpr double bounce_own_u_db = 0.25, bounce_common_u_db = 0.35, soonest_parted_ms = 0.9;
// Scatter of full sound about the fit, as found where enough readings tell it (a type A evaluation).
constexpr std::size_t enough_to_tell_scatter = 6;
constexpr double least_scatter_db = 0.6;

}  // namespace

double pattern_uncertainty_db(const plan::Model& model, double loss_db) {
    return model.pattern_u_db * std::clamp(-loss_db / 6.0, axis_share, 1.0) +
           pattern_u_per_db * std::clamp(trusted_loss_db - loss_db, 0.0, trusted_loss_db - useless_loss_db);
}

HangEvidence::HangEvidence(Scene scene, bool by_bands) : model_(std::move(scene)) { list(by_bands); }

void HangEvidence::list(bool by_bands) {
    const Scene& scene = model_.scene();
    for (std::size_t s = 0; s < scene.sounds.size(); ++s) {
        const Sound& sound = scene.sounds[s];
        if (sound.level_db) {
            const auto [own, common] = bounce_u_db(sound.source, *scene.positions[sound.position]);
            const double u = std::hypot(std::max(sound.level_db->u, lowest_reading_u_db), own);
            observations_.push_back({s, Kind::level, sound.level_db->value, u});
            observations_.back().bounce_u = common;
        }
        if (sound.arrival_ms) observations_.push_back({s, Kind::arrival, sound.arrival_ms->value, sound.arrival_ms->u});
    }
    if (!by_bands) return;
    for (std::size_t b = 0; b < model_.bands().size(); ++b) {
        const HangModel::Band& band = model_.bands()[b];
        const Sound& sound = scene.sounds[band.sound];
        if (bounce_u_db(sound.source, *scene.positions[sound.position]).common_db > 0.0) continue;
        observations_.push_back({band.sound, Kind::band, band.beside_aim_band_db.value, band.beside_aim_band_db.u});
        observations_.back().band = b;
    }
}

HangEvidence::BounceShares HangEvidence::bounce_u_db(std::size_t source, const plan::Position& position) const {
    const Scene& scene = model_.scene();
    const Source& driven = scene.sources[source];
    if (measured_by_full_sound(*driven.model)) return {};
    if (1e3 * plan::floor_bounce_s(*driven.boxes.front(), position, scene.air) > soonest_parted_ms) return {};
    return {bounce_own_u_db, bounce_common_u_db};
}

bool HangEvidence::by_full_sound(const Observation& seen) const {
    return seen.is_level() && measured_by_full_sound(*model_.scene().sources[sound(seen).source].model);
}

const Observation* HangEvidence::observation(std::size_t of_sound, Kind kind) const {
    const auto found = std::ranges::find_if(observations_, [&](const Observation& seen) { return seen.sound == of_sound && seen.kind == kind; });
    return found == observations_.end() ? nullptr : &*found;
}

double HangEvidence::predicted(const HangModel::Hung& hung, const Observation& seen, Row* slopes) const {
    if (seen.kind == Kind::arrival) return model_.arrival_at_mic_ms(hung, sound(seen), slopes);
    if (seen.kind == Kind::band) return model_.band_at_mic_db(hung, model_.bands()[seen.band], slopes);
    const std::size_t direction = model_.layout().direction(model_.direction_of(seen.sound));
    const double level = model_.level_at_mic_db(hung, sound(seen), slopes);
    if (slopes != nullptr) {
        slopes->add(direction, seen.common_u);
        slopes->add(model_.layout().bounce(), seen.bounce_u);
    }
    return level + seen.common_u * (*hung.x)[direction] + seen.bounce_u * (*hung.x)[model_.layout().bounce()];
}

void HangEvidence::weigh_as_planned(const Unknowns& x) {
    for (Observation& seen : observations_) seen.outlier = seen.used_as_planned = false;
    weigh(x);
    for (Observation& seen : observations_) seen.used_as_planned = seen.used;
}

void HangEvidence::leave_out(std::size_t observation) {
    observations_[observation].outlier = true;
    observations_[observation].used = false;
}

void HangEvidence::weigh(const Unknowns& x) {
    const HangModel::Hung hung = model_.hung(x);
    std::vector<HangModel::Leaving> leaving;
    for (const Sound& heard : model_.scene().sounds) leaving.push_back(model_.leaves(hung, heard));
    for (Observation& seen : observations_) {
        const Sound& heard = sound(seen);
        const Source& source = model_.scene().sources[heard.source];
        const double loss = model_.loss_db(hung, heard.source, model_.scene().positions[heard.position]->at);
        const bool in_front = leaving[seen.sound].in_front;
        if (seen.kind == Kind::band) {
            const double in_band = model_.band_loss_db(hung, model_.bands()[seen.band]);
            seen.pattern_u = band_share * pattern_uncertainty_db(*source.model, in_band);
            seen.used = in_front && std::min(loss, in_band) > useless_loss_db;
        } else if (seen.is_level()) {
            seen.pattern_u = pattern_uncertainty_db(*source.model, loss);
            seen.used = in_front && loss > useless_loss_db;
        } else {
            seen.pattern_u = arrival_u_ms + arrival_u_ms_per_db * std::max(0.0, trusted_loss_db - loss);
            seen.used = in_front && loss > useless_arrival_loss_db;
        }
        seen.used = (seen.used || seen.used_as_planned) && !seen.outlier;
    }
    share_directions(leaving);
}

// How much of a pattern's deviation a sound has in common with the others of its direction: less, the farther the
// boxes turn out to be turned away from one another's mirror image.
void HangEvidence::share_directions(const std::vector<HangModel::Leaving>& leaving) {
    struct Middle {
        double h = 0.0, v = 0.0, count = 0.0;
    };
    std::vector<Middle> middles(model_.directions());
    for (std::size_t s = 0; s < model_.scene().sounds.size(); ++s) {
        const auto [h, v, in_front] = leaving[s];
        Middle& middle = middles[model_.direction_of(s)];
        middle.h += h;
        middle.v += v;
        middle.count += 1.0;
    }
    for (Observation& seen : observations_) {
        if (!seen.is_level()) continue;
        const Middle& middle = middles[model_.direction_of(seen.sound)];
        const auto [h, v, in_front] = leaving[seen.sound];
        const double apart = std::hypot(h - middle.h / middle.count, v - middle.v / middle.count) / same_direction;
        const double common = (1.0 - own_share * own_share) * std::exp(-apart * apart);
        seen.common_u = seen.pattern_u * std::sqrt(common);
        seen.pattern_u *= std::sqrt(1.0 - common);
    }
}

void HangEvidence::evaluate_scatter(const Unknowns& x) {
    double square = 0.0;
    std::size_t count = 0;
    std::vector<bool> of_source(model_.scene().sources.size(), false);
    const HangModel::Hung hung = model_.hung(x);
    for (const Observation& seen : observations_) {
        if (!seen.used || !by_full_sound(seen)) continue;
        const double r = seen.value - predicted(hung, seen);
        square += r * r;
        ++count;
        of_source[sound(seen).source] = true;
    }
    // Each source takes up one reading for its level, all together one for the room.
    const auto taken_up = 1 + static_cast<std::size_t>(std::ranges::count(of_source, true));
    if (count < enough_to_tell_scatter + taken_up) return;
    const double scatter = std::sqrt(square / static_cast<double>(count - taken_up));
    for (Observation& seen : observations_)
        if (by_full_sound(seen)) seen.reading_u = std::clamp(scatter, least_scatter_db, most_scatter_db);
}

}  // namespace proofwalk::verify
