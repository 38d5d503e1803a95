// The response check: is a driver or a band missing? Octave-wide deviation in third-octave steps after the mean is taken out.
//
// Above the frequency that the gate resolves the direct sound on the axis counts, against the planned shape. Below it the
// room can't be gated out: full sound is what the box radiates over distance plus a reverberant part that is the same all
// over the room, so readings at different distances, of all boxes of the model, tell the two apart.
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include <fmt/format.h>

#include "plan/targets.hpp"
#include "units/convert.hpp"
#include "verify/case_file.hpp"
#include "verify/phrases.hpp"
#include "verify/room_level.hpp"

namespace proofwalk::verify {
namespace {

constexpr double box_ripple_u_db = 0.5;     // of an octave of a healthy box, unit to unit
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
constexpr double turned_away = 0.3;         // of half the coverage: what is heard on the planned axis is not the axis
constexpr double contradict_db = 6.0;       // of two siblings in one band
constexpr double driver_missing_db = 10.0;  // a drop that only a dead driver makes

struct Shape {
    BandLevels db, u_db;  // deviation from the planned shape, mean not taken out
    std::array<bool, band_count> resolved{};
};

// One circuit as evidence of a box's response.
struct Voice {
    const plan::Box* box = nullptr;
    std::string circuit;  // whose takes they are
    const TakenReading* on_axis = nullptr;
};

std::optional<Voice> voice_of(const CaseFile& file, const plan::Box& box, const std::string& circuit) {
    const plan::Position* axis = file.input.plan.serving(plan::Role::on_axis, box.id);
    if (axis == nullptr) return std::nullopt;
    const TakenReading* on_axis = file.reading(circuit, axis->id);
    if (on_axis == nullptr || on_axis->reading.flags.has(Flag::no_signal)) return std::nullopt;
    return Voice{&box, circuit, on_axis};
}

// Direct sound on the axis against the planned shape, in the bands that the gate resolves.
Shape direct_shape(const CaseFile& file, const Voice& voice) {
    const acoustics::Air air = file.input.air.value_or(file.input.plan.air);
    const plan::Model& model = file.input.plan.model_of(*voice.box);
    const auto [first, last] = bands_inside(model.range_hz.low_hz, model.range_hz.high_hz);
    const signal::Reading& reading = voice.on_axis->reading;
    const BandLevels planned =
        plan::target(file.input.plan, *voice.box, *file.input.plan.position(voice.on_axis->position), air).shape_db;
    Shape shape;
    for (std::size_t band = first; band < last; ++band) {
        shape.resolved[band] = lower_edge_hz(band) >= reading.gate_resolves_from_hz && reading.direct_db.has(band);
        if (!shape.resolved[band]) continue;
        shape.db[band] = reading.direct_db[band] - planned[band];
        shape.u_db[band] = std::hypot(std::isfinite(reading.direct_u_db[band]) ? reading.direct_u_db[band] : 0.3, 0.2);
    }
    return shape;
}

// What a circuit's full sound in a band says of its box once the room's part is taken out, for one guess of that part.
struct Far {
    double distance2 = 1.0, pattern = 1.0;  // metres squared; direct power re the axis
    double over_plan_db = 0.0;              // full sound re planned gain and level
};

std::vector<Far> far_readings(const CaseFile& file, const Voice& voice, std::size_t band) {
    const plan::Model& model = file.input.plan.model_of(*voice.box);
    // On the scale of the planned shape, which holds the model's own level where the plan states it.
    const double planned_db = file.input.plan.boxes_of(voice.circuit).front()->gain_db + model.level_1m_db.value_or(0.0);
    std::vector<Far> all;
    for (const TakenReading* taken : file.readings) {
        const signal::Reading& reading = taken->reading;
        if (taken->circuit != voice.circuit || reading.flags.has(Flag::no_signal) || !reading.full_db.has(band)) continue;
        if (reading.noise_db.has(band) && reading.full_db[band] < reading.noise_db[band] + 3.0) continue;
        const auto seen = acoustics::bearing(voice.box->pose(), file.input.plan.position(taken->position)->at);
        all.push_back({seen.distance_m * seen.distance_m,
                       power_of_db(model.pattern_loss->loss_db(seen.h_deg, seen.v_deg, midband_hz(band))),
                       reading.full_db[band] - planned_db});
    }
    return all;
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

double resolved_level(const Shape& shape) {
    std::vector<double> resolved;
    for (std::size_t band = 0; band < band_count; ++band)
        if (shape.db.has(band) && shape.resolved[band]) resolved.push_back(shape.db[band]);
    return resolved.empty() ? 0.0 : median(resolved);
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

// Deviation of a box from its siblings, or from its model when there are fewer than two of them.
Shape deviation(const CaseFile& file, const Voice& own, const std::vector<Voice>& others) {
    Shape shape = direct_shape(file, own);
    const double own_level = resolved_level(shape);
    const double gain = file.input.plan.boxes_of(own.circuit).front()->gain_db;
    std::vector<Shape> siblings;
    for (const Voice& other : others) siblings.push_back(direct_shape(file, other));
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
                for (std::size_t i = 0; i < others.size(); ++i) theirs.push_back(resolved_level(siblings[i]));
                scale = own_level - median(theirs);
            }
            shape.db[band] = level->value - scale;
            shape.u_db[band] = std::sqrt(3.0) * level->u;  // neighbours share the room: an octave is no surer than a third
            continue;
        }
        shape.db[band] -= own_level;
        std::vector<double> theirs;
        double variance = 0.0;
        for (const Shape& sibling : siblings) {
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

struct Octave {
    std::size_t middle = 0;
    double off_db = 0.0, u_db = 0.0;
};

std::vector<Octave> octaves(const Shape& shape) {
    std::vector<Octave> found;
    for (std::size_t band = 1; band + 1 < band_count; ++band) {
        if (!shape.db.has(band - 1) || !shape.db.has(band) || !shape.db.has(band + 1)) continue;
        double sum = 0.0, variance = 0.0;
        for (std::size_t one = band - 1; one <= band + 1; ++one) {
            sum += shape.db[one];
            variance += shape.u_db[one] * shape.u_db[one];
        }
        found.push_back({band, sum / 3.0, std::hypot(std::sqrt(variance) / 3.0, box_ripple_u_db)});
    }
    return found;
}

std::string band_text(std::size_t band) {
    const double hz = nominal_hz[band];
    return hz >= 1000.0 ? fmt::format("{:g} kHz", hz / 1000.0) : fmt::format("{:g} Hz", hz);
}

// A driver can only take away: of the two sides of the largest step the quieter one is missing.
struct Missing {
    bool high = false, low = false;
    double by_db = 0.0;
    std::size_t from = 0;  // first band of the upper side
};

Missing missing_driver(const std::vector<Octave>& octaves) {
    Missing missing;
    for (std::size_t split = 2; split + 2 <= octaves.size(); ++split) {
        double below = 0.0, above = 0.0;
        for (std::size_t i = 0; i < octaves.size(); ++i) (i < split ? below : above) += octaves[i].off_db;
        const double step = above / static_cast<double>(octaves.size() - split) - below / static_cast<double>(split);
        if (std::abs(step) <= missing.by_db) continue;
        missing = {step < 0.0, step > 0.0, std::abs(step), octaves[split].middle};
    }
    return missing;
}

// Other boxes of the model that are heard, whatever cable feeds them, and that have all their drivers.
std::vector<Voice> siblings(const CaseFile& file, const plan::Box& box) {
    std::vector<Voice> others;
    for (const plan::Box& other : file.input.plan.boxes) {
        if (other.model != box.model || other.circuit == box.circuit) continue;
        if (file.input.plan.boxes_of(other.circuit).front() != &other) continue;
        const auto heard = std::ranges::find_if(file.circuits, [&](const CircuitState& state) {
            return state.sounds == Sounds::heard && state.drives == other.circuit && state.also_sounding.empty() && state.patch_clear;
        });
        if (heard == file.circuits.end()) continue;
        const auto voice = voice_of(file, other, heard->circuit);
        if (!voice) continue;
        std::vector<Octave> alone = octaves(deviation(file, *voice, {}));
        if (missing_driver(alone).by_db < driver_missing_db) others.push_back(*voice);
    }
    return others;
}

bool points_elsewhere(const CaseFile& file, const plan::Box& box) {
    const plan::Model& model = file.input.plan.model_of(box);
    if (!file.fit || model.pattern != plan::Pattern::beam) return false;
    const auto source = file.fit->scene().source_of_circuit(box.circuit);
    if (!source) return false;
    const auto turned = [&](Figure figure) {
        return std::abs(file.fit->quantity([&](const HangFit::State& state) { return state.figure(*source, figure); }).value);
    };
    return turned(Figure::pan_deg) > 0.5 * turned_away * model.coverage_h_deg ||
           turned(Figure::tilt_deg) > 0.5 * turned_away * model.coverage_v_deg;
}

}  // namespace

void find_missing_treble(CaseFile& file) {
    for (CircuitState& state : file.circuits) {
        if (state.sounds != Sounds::heard || state.drives.empty()) continue;
        const plan::Box& box = *file.input.plan.boxes_of(state.drives).front();
        const auto voice = voice_of(file, box, state.circuit);
        if (!voice) continue;
        const Missing missing = missing_driver(octaves(deviation(file, *voice, {})));
        state.no_treble = missing.high && missing.by_db >= driver_missing_db;
    }
}

CheckResult judge_response(const CaseFile& file, const plan::PlannedCheck& check) {
    if (auto early = without_grounds(file, check)) return *early;
    CheckResult result = blank(file, check);
    result.verdict = Verdict::unsure;
    const plan::Box& box = *file.input.plan.box(check.boxes.front());
    const auto own = voice_of(file, box, box.circuit);
    if (!own) {
        result.says = "nothing of it is heard on its axis";
        return result;
    }
    std::vector<Voice> others = siblings(file, box);
    const bool by_siblings = others.size() >= 2;
    if (!by_siblings) others.clear();
    std::vector<Octave> all = octaves(deviation(file, *own, others));
    if (all.empty()) {
        result.says = "its range holds no whole octave";
        return result;
    }
    double mean = 0.0;
    for (const Octave& octave : all) mean += octave.off_db / static_cast<double>(all.size());
    for (Octave& octave : all) octave.off_db -= mean;
    const Octave worst = *std::ranges::max_element(all, {}, [](const Octave& octave) { return std::abs(octave.off_db); });
    result.value = worst.off_db;
    result.uncertainty = coverage_factor(file.rules().confidence) * worst.u_db;
    result.budget = {{"room and noise", std::sqrt(std::max(0.0, worst.u_db * worst.u_db - box_ripple_u_db * box_ripple_u_db))},
                     {"difference from box to box", box_ripple_u_db}};
    // All bands together: octaves three steps apart share no third octave; of the three such rows the least likely counts.
    double probability = 1.0, surest_bad = 0.0;
    for (std::size_t start = 0; start < std::min<std::size_t>(3, all.size()); ++start) {
        double together = 1.0;
        for (std::size_t i = start; i < all.size(); i += 3)
            together *= probability_of_conformity(all[i].off_db, all[i].u_db, *result.tolerance);
        probability = std::min(probability, together);
    }
    for (const Octave& octave : all)
        surest_bad = std::max(surest_bad, 1.0 - probability_of_conformity(octave.off_db, octave.u_db, *result.tolerance));
    result.probability = probability;
    const bool guarded = file.rules().decision == plan::Decision::guarded;
    if (!guarded)
        result.verdict = std::abs(worst.off_db) <= *result.tolerance ? Verdict::pass : Verdict::fail;
    else if (probability >= file.rules().confidence)
        result.verdict = Verdict::pass;
    else if (surest_bad >= file.rules().confidence)
        result.verdict = Verdict::fail;
    const Missing missing = missing_driver(all);
    if (result.verdict == Verdict::fail && missing.by_db < driver_missing_db && points_elsewhere(file, box)) {
        result.verdict = Verdict::unsure;
        result.says = fmt::format("it points elsewhere, so the position on its planned axis does not tell its {}",
                                  worst.off_db < 0.0 ? "treble" : "response");
        result.advice = fmt::format("set the aim of {} right first, then take again", box.id);
        return result;
    }
    const std::string against = by_siblings ? "its siblings" : "its model";
    result.says = fmt::format("{} {} around {} against {}", level_text(worst.off_db), worst.off_db > 0.0 ? "too loud" : "too quiet",
                              band_text(worst.middle), against);
    if (result.verdict == Verdict::fail && missing.by_db >= driver_missing_db) {
        result.says = fmt::format("{} weak by {:.0f} dB {} {} against {}: likely a dead {} driver",
                                  missing.high ? "high" : "low", missing.by_db, missing.high ? "above" : "below",
                                  band_text(missing.from), against, missing.high ? "high" : "low");
        result.advice = fmt::format("check the {} driver of {}, its amplifier channel, crossover and cable, then take again",
                                    missing.high ? "high" : "low", box.id);
    } else if (result.verdict == Verdict::fail) {
        result.advice = fmt::format("check equaliser, drivers and grille of {} around {}, then take again", box.id,
                                    band_text(worst.middle));
    } else if (result.verdict == Verdict::unsure) {
        result.says += "; the room hides more than the tolerance allows";
        result.advice = fmt::format("take {} on its axis again: nearer, so that the room counts less", box.id);
    }
    return result;
}

}  // namespace proofwalk::verify
