#include "verify/voice.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>

#include "plan/targets.hpp"
#include "units/convert.hpp"
#include "verify/room_level.hpp"

namespace proofwalk::verify {
namespace {

constexpr double room_u_db = 2.2;           // of a third-octave of full sound at one position, about the mean of the room
constexpr double covered_loss_db = -10.0;
constexpr double room_floor_u_db = 0.5;     // what averaging over positions can't take away
// Reverberant level re the direct sound at 1 m of the same radiation: what halls are, and how much they differ.
constexpr double usual_room_db = -16.0, usual_room_u_db = 5.0, least_room_db = -36.0, most_room_db = -2.0;
// Against the model alone, what rooms add to the full sound of the low bands as a whole, beside the direct sound.
constexpr double least_room_gain_db = -2.0, most_room_gain_db = 14.0;
constexpr double single_room_u_db = 1.8;
// Of what a horn that opens below its control frequency gives to the room: how much of it comes back as diffuse sound would.
constexpr double diffuse_share = 0.5, diffuse_share_u = 0.12;
constexpr double contradict_db = 6.0;       // of two siblings in one band
// A band that the noise drowns has no level, but what is heard there is the most it can have: where that is this far below
// what the box's other bands let expect (below their full sound, which rooms raise, farther), the band is missing all the same.
constexpr double drowned_u_db = 3.0, at_most_u_db = 2.0, full_at_most_db = 10.0;
constexpr double clear_below_db = 6.0, clear_below_full_db = 16.0;

double stated_u_db(double u_db) { return std::isfinite(u_db) ? u_db : 0.3; }

double resolved_level(const Shape& shape) {
    std::vector<double> resolved;
    for (std::size_t band = 0; band < band_count; ++band)
        if (shape.db.has(band) && shape.resolved[band]) resolved.push_back(shape.db[band]);
    return resolved.empty() ? 0.0 : median(resolved);
}

// Direct sound on the axis against the planned shape, in the bands that the gate resolves.
Shape direct_shape(const CaseFile& file, const plan::Box& box, const TakenReading& on_axis) {
    const acoustics::Air air = file.input.air.value_or(file.input.plan.air);
    const plan::Model& model = file.input.plan.model_of(box);
    const auto [first, last] = bands_inside(model.range_hz.low_hz, model.range_hz.high_hz);
    const signal::Reading& reading = on_axis.reading;
    const BandLevels planned = plan::target(file.input.plan, box, *file.input.plan.position(on_axis.position), air).shape_db;
    Shape shape, drowned;
    for (std::size_t band = first; band < last; ++band) {
        if (lower_edge_hz(band) < reading.gate_resolves_from_hz || !reading.direct_db.has(band)) continue;
        const double u_db = stated_u_db(reading.direct_u_db[band]);
        Shape& into = u_db < drowned_u_db ? shape : drowned;
        into.resolved[band] = true;
        into.db[band] = reading.direct_db[band] - planned[band];
        into.u_db[band] = std::hypot(u_db, 0.2);
    }
    const double level = resolved_level(shape);
    for (std::size_t band = first; band < last; ++band) {
        if (!drowned.resolved[band] || drowned.db[band] > level - clear_below_db) continue;
        shape.resolved[band] = true;
        shape.db[band] = drowned.db[band];
        shape.u_db[band] = at_most_u_db;
    }
    return shape;
}

// What a circuit's full sound in a band says of its box once the room's part is taken out, for one guess of that part.
struct Far {
    double distance2 = 1.0, pattern = 1.0;  // metres squared; direct power re the axis
    double over_plan_db = 0.0;              // full sound re planned gain and level

    // What it says of the box by the distance law alone.
    [[nodiscard]] double level_db() const { return over_plan_db - power_db(pattern / distance2); }
};

std::vector<Far> far_readings(const CaseFile& file, const Voice& voice, std::size_t band) {
    const plan::Model& model = file.input.plan.model_of(*voice.box);
    // On the scale of the planned shape, which holds the model's own level where the plan states it.
    const double planned_db = file.input.plan.boxes_of(voice.circuit).front()->gain_db + model.level_1m_db.value_or(0.0);
    std::vector<Far> all;
    for (const TakenReading* taken : file.readings) {
        const signal::Reading& reading = taken->reading;
        if (taken->circuit != voice.circuit || reading.flags.has(Flag::no_signal) || !reading.full_db.has(band)) continue;
        const auto seen = acoustics::bearing(voice.box->pose(), file.input.plan.position(taken->position)->at);
        Far far{seen.distance_m * seen.distance_m, power_of_db(model.pattern_loss->loss_db(seen.h_deg, seen.v_deg, midband_hz(band))),
                reading.full_db[band] - planned_db};
        if (stated_u_db(reading.full_u_db[band]) >= drowned_u_db) {
            far.over_plan_db += full_at_most_db;
            if (far.level_db() > voice.audible_db) continue;
        }
        all.push_back(far);
    }
    return all;
}

double audible_level_db(const CaseFile& file, const Voice& voice) {
    if (std::ranges::any_of(voice.direct.resolved, std::identity{})) return resolved_level(voice.direct) - clear_below_db;
    const plan::Model& model = file.input.plan.model_of(*voice.box);
    const auto [first, last] = bands_inside(model.range_hz.low_hz, model.range_hz.high_hz);
    Voice unbounded = voice;
    unbounded.audible_db = -1e9;
    std::vector<double> levels;
    for (std::size_t band = first; band < last; ++band)
        for (const Far& far : far_readings(file, unbounded, band)) levels.push_back(far.level_db());
    return levels.empty() ? -1e9 : median(std::move(levels)) - clear_below_full_db;
}

struct Taken {
    double mean = 0.0, square = 0.0;  // level of the box, and squared misfit of the readings about it
};

Taken without_room(const std::vector<Far>& readings, double room) {
    std::vector<double> levels;
    for (const Far& far : readings) levels.push_back(far.over_plan_db - power_db(far.pattern / far.distance2 + room));
    Taken taken;
    for (const double level : levels) taken.mean += level / static_cast<double>(levels.size());
    for (const double level : levels) taken.square += (level - taken.mean) * (level - taken.mean);
    return taken;
}

// Two siblings so far apart have no middle that is anybody's: the middle of all three stays with the two that agree.
double middle_of(std::vector<double> siblings, double own) {
    if (siblings.size() == 2 && std::abs(siblings[0] - siblings[1]) > contradict_db) siblings.push_back(own);
    return median(std::move(siblings));
}

// A band below the gate's resolution: the level of the own box less that of the siblings (or, without siblings, as it is),
// averaged over all that the room's part may be, each weighed by how well it explains the readings of all of them.
std::optional<Measured> level_without_room(const CaseFile& file, const Voice& own, const std::vector<Voice>& others, std::size_t band) {
    const std::vector<Far> mine = far_readings(file, own, band);
    if (mine.empty()) return std::nullopt;
    std::vector<std::vector<Far>> theirs;
    for (const Voice& other : others)
        if (auto far = far_readings(file, other, band); !far.empty()) theirs.push_back(std::move(far));
    double weights = 0.0, mean = 0.0, square = 0.0;
    double least = std::numeric_limits<double>::infinity();
    std::vector<std::array<double, 2>> tried;  // misfit, level
    for (double room_db = least_room_db; room_db <= most_room_db; room_db += 1.0) {
        const double room = power_of_db(room_db);
        const Taken taken = without_room(mine, room);
        double misfit = taken.square;
        double level = taken.mean;
        std::vector<double> levels;
        for (const auto& far : theirs) {
            const Taken other = without_room(far, room);
            misfit += other.square;
            levels.push_back(other.mean);
        }
        if (!levels.empty()) level -= middle_of(std::move(levels), taken.mean);
        const double z = (room_db - usual_room_db) / usual_room_u_db;
        tried.push_back({0.5 * misfit / (room_u_db * room_u_db) + 0.5 * z * z, level});
        least = std::min(least, tried.back()[0]);
    }
    for (const auto& [misfit, level] : tried) {
        const double weight = std::exp(least - misfit);
        weights += weight;
        mean += weight * level;
        square += weight * level * level;
    }
    mean /= weights;
    const double of_room = std::max(0.0, square / weights - mean * mean);
    double variance = room_u_db * room_u_db / static_cast<double>(mine.size()) + room_floor_u_db * room_floor_u_db;
    for (const auto& far : theirs)
        variance += room_u_db * room_u_db / static_cast<double>(far.size() * theirs.size() * theirs.size());
    return Measured{mean, std::sqrt(variance + of_room)};
}

// How much the room adds to the full sound in a band beside the direct sound, were its sound quite diffuse: mean over the
// positions in front, dB.
double diffuse_gain_db(const CaseFile& file, const Voice& own, const std::optional<RoomLevel>& told, std::size_t band) {
    const plan::Model& model = file.input.plan.model_of(*own.box);
    if (!told) return 0.0;
    const double room = radiated_power(model, midband_hz(band)) * power_of_db(told->in_band_db(band));
    double sum = 0.0, count = 0.0;
    for (const Far& far : far_readings(file, own, band)) {
        if (far.pattern < power_of_db(covered_loss_db)) continue;
        sum += power_db(1.0 + room * far.distance2 / far.pattern);
        count += 1.0;
    }
    return count > 0.0 ? sum / count : 0.0;
}

// Without siblings: full sound beside the distance law, averaged over the positions in front of the box.
std::optional<Measured> level_with_room(const CaseFile& file, const Voice& own, const std::optional<RoomLevel>& told, std::size_t band,
                                        std::size_t highest_unresolved) {
    double sum = 0.0, count = 0.0;
    for (const Far& far : far_readings(file, own, band)) {
        if (far.pattern < power_of_db(covered_loss_db)) continue;
        sum += far.over_plan_db + power_db(far.distance2);
        count += 1.0;
    }
    if (count == 0.0) return std::nullopt;
    const double opens_db = diffuse_gain_db(file, own, told, band) - diffuse_gain_db(file, own, told, highest_unresolved);
    return Measured{sum / count - diffuse_share * opens_db,
                    std::hypot(single_room_u_db / std::sqrt(count), room_floor_u_db, diffuse_share_u * opens_db)};
}

// One level for all bands below the gate's resolution is the room's, within what rooms add.
void take_out_room_gain(Shape& shape) {
    std::vector<double> full;
    for (std::size_t band = 0; band < band_count; ++band)
        if (shape.db.has(band) && !shape.resolved[band]) full.push_back(shape.db[band]);
    if (full.empty()) return;
    const double gain = std::clamp(median(full), least_room_gain_db, most_room_gain_db);
    for (std::size_t band = 0; band < band_count; ++band)
        if (shape.db.has(band) && !shape.resolved[band]) shape.db[band] -= gain;
}

}  // namespace

std::optional<Voice> voice_of(const CaseFile& file, const plan::Box& box, const std::string& circuit) {
    const plan::Position* axis = file.input.plan.serving(plan::Role::on_axis, box.id);
    if (axis == nullptr) return std::nullopt;
    const TakenReading* on_axis = file.reading(circuit, axis->id);
    if (on_axis == nullptr || on_axis->reading.flags.has(Flag::no_signal)) return std::nullopt;
    Voice voice{&box, circuit, on_axis, direct_shape(file, box, *on_axis)};
    voice.audible_db = audible_level_db(file, voice);
    return voice;
}

Shape deviation(const CaseFile& file, const Voice& own, const std::vector<Voice>& others) {
    Shape shape = own.direct;
    const double own_level = resolved_level(shape);
    const double gain = file.input.plan.boxes_of(own.circuit).front()->gain_db;
    const plan::Model& model = file.input.plan.model_of(*own.box);
    const auto [first, last] = bands_inside(model.range_hz.low_hz, model.range_hz.high_hz);
    std::size_t highest_unresolved = first;
    for (std::size_t band = first; band < last; ++band)
        if (!shape.resolved[band]) highest_unresolved = band;
    const auto told = others.empty() ? room_level(file, *own.box, own.circuit) : std::nullopt;
    for (std::size_t band = first; band < last; ++band) {
        if (!shape.resolved[band]) {
            // Beside the direct level of the resolved bands, so that both parts stand on one scale.
            const auto level = others.empty() ? level_with_room(file, own, told, band, highest_unresolved) : level_without_room(file, own, others, band);
            if (!level) continue;
            double scale = own_level + own.box->gain_db - gain;
            if (!others.empty()) {
                std::vector<double> theirs;
                for (const Voice& other : others) theirs.push_back(resolved_level(other.direct));
                scale = own_level - median(theirs);
            }
            shape.db[band] = level->value - scale;
            shape.u_db[band] = std::sqrt(3.0) * level->u;  // neighbours share the room: an octave is no surer than a third
            continue;
        }
        shape.db[band] -= own_level;
        std::vector<double> theirs;
        double variance = 0.0;
        for (const Voice& other : others) {
            const Shape& sibling = other.direct;
            if (!sibling.db.has(band) || !sibling.resolved[band]) continue;
            theirs.push_back(sibling.db[band] - resolved_level(sibling));
            variance = std::max(variance, sibling.u_db[band] * sibling.u_db[band]);
        }
        if (theirs.empty()) continue;
        const auto siblings_heard = static_cast<double>(theirs.size());
        shape.db[band] -= middle_of(std::move(theirs), shape.db[band]);
        shape.u_db[band] = std::sqrt(shape.u_db[band] * shape.u_db[band] + variance / siblings_heard);
    }
    if (others.empty()) take_out_room_gain(shape);
    return shape;
}

}  // namespace proofwalk::verify
