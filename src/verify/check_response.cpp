// The response check: is a driver or a band missing? Octave-wide deviation in third-octave steps after the mean is taken out.
//
// Above the frequency that the gate resolves the direct sound on the axis counts, against the planned shape. Below it the
// room can't be gated out: the full sound is averaged over all positions that the box covers, each beside the direct
// level there, and what the room adds is taken from the siblings where there are two or more, else bounded by what rooms do.
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include <fmt/format.h>

#include "plan/targets.hpp"
#include "units/convert.hpp"
#include "verify/case_file.hpp"
#include "verify/phrases.hpp"

namespace proofwalk::verify {
namespace {

constexpr double covered_loss_db = -10.0;
constexpr double box_ripple_u_db = 0.7;     // of an octave of a healthy box, unit to unit
constexpr double room_u_db = 2.6;           // of an octave of full sound at one position, about its room's trend
constexpr double room_floor_u_db = 0.6;     // what averaging over positions can't take away
constexpr double least_room_gain_db = -1.0, most_room_gain_db = 13.0;
constexpr double driver_missing_db = 10.0;  // a drop that only a dead driver makes

struct Shape {
    BandLevels db, u_db;  // deviation from the planned shape, mean not taken out
    std::array<bool, band_count> resolved{};
};

// Third-octave deviation of one circuit from its planned shape; nothing without a usable reading on its axis.
std::optional<Shape> shape_of(const CaseFile& file, const plan::Box& box) {
    const plan::Position* axis = file.input.plan.serving(plan::Role::on_axis, box.id);
    if (axis == nullptr) return std::nullopt;
    const TakenReading* on_axis = file.reading(box.circuit, axis->id);
    if (on_axis == nullptr || on_axis->reading.flags.has(Flag::no_signal)) return std::nullopt;
    const acoustics::Air air = file.input.air.value_or(file.input.plan.air);
    const plan::Model& model = file.input.plan.model_of(box);
    const auto [first, last] = bands_inside(model.range_hz.low_hz, model.range_hz.high_hz);
    const BandLevels planned = plan::target(file.input.plan, box, *axis, air).shape_db;
    Shape shape;
    for (std::size_t band = first; band < last; ++band) {
        const signal::Reading& reading = on_axis->reading;
        shape.resolved[band] = lower_edge_hz(band) >= reading.gate_resolves_from_hz && reading.direct_db.has(band);
        if (shape.resolved[band]) {
            shape.db[band] = reading.direct_db[band] - planned[band];
            shape.u_db[band] = std::hypot(std::isfinite(reading.direct_u_db[band]) ? reading.direct_u_db[band] : 0.3, 0.2);
            continue;
        }
        double sum = 0.0;
        int count = 0;
        for (const TakenReading* taken : file.readings) {
            if (taken->circuit != box.circuit || !taken->reading.aim_band_db || !taken->reading.full_db.has(band)) continue;
            const plan::Target there = plan::target(file.input.plan, box, *file.input.plan.position(taken->position), air);
            if (taken != on_axis && (there.loss_db < covered_loss_db || std::abs(there.bearing.h_deg) > 90.0)) continue;
            // Beside the distance law of the direct sound: rooms add to it, and add more the farther away.
            sum += taken->reading.full_db[band] - there.shape_db[band] + there.loss_db;
            ++count;
        }
        if (count == 0) continue;
        shape.db[band] = sum / count;
        shape.u_db[band] = std::sqrt(3.0) * std::hypot(room_u_db / std::sqrt(static_cast<double>(count)), room_floor_u_db);
    }
    return shape;
}

// What the room adds to full sound below the gate's resolution, where no sibling tells: one level, bounded.
void take_out_room(Shape& shape) {
    std::vector<double> direct, full;
    for (std::size_t band = 0; band < band_count; ++band) {
        if (!shape.db.has(band)) continue;
        (shape.resolved[band] ? direct : full).push_back(shape.db[band]);
    }
    if (direct.empty() || full.empty()) return;
    const double gain = std::clamp(median(full) - median(direct), least_room_gain_db, most_room_gain_db);
    for (std::size_t band = 0; band < band_count; ++band)
        if (shape.db.has(band) && !shape.resolved[band]) shape.db[band] -= gain;
}

// Against the siblings band by band where there are two or more.
bool take_out_siblings(const CaseFile& file, const plan::Box& box, Shape& shape) {
    std::vector<Shape> others;
    for (const plan::Box& other : file.input.plan.boxes) {
        if (other.model != box.model || other.circuit == box.circuit) continue;
        const CircuitState& state = file.circuit(other.circuit);
        if (state.sounds != Sounds::heard || !state.patched_right()) continue;
        const bool counted = file.input.plan.boxes_of(other.circuit).front() != &other;
        if (counted) continue;
        if (const auto sibling = shape_of(file, other)) others.push_back(*sibling);
    }
    if (others.size() < 2) return false;
    // Levels differ by gain; only shapes are compared.
    const auto level = [](const Shape& of) {
        std::vector<double> resolved;
        for (std::size_t band = 0; band < band_count; ++band)
            if (of.db.has(band) && of.resolved[band]) resolved.push_back(of.db[band]);
        return resolved.empty() ? 0.0 : median(resolved);
    };
    for (std::size_t band = 0; band < band_count; ++band) {
        std::vector<double> theirs;
        double variance = 0.0;
        for (const Shape& other : others) {
            if (!other.db.has(band) || other.resolved[band] != shape.resolved[band]) continue;
            theirs.push_back(other.db[band] - level(other));
            variance = std::max(variance, other.u_db[band] * other.u_db[band]);
        }
        if (!shape.db.has(band)) continue;
        if (theirs.empty()) {
            shape.u_db[band] = std::hypot(shape.u_db[band], room_u_db);
            continue;
        }
        shape.db[band] -= median(theirs);
        shape.u_db[band] = std::sqrt(shape.u_db[band] * shape.u_db[band] + variance / static_cast<double>(theirs.size()));
    }
    return true;
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

}  // namespace

CheckResult judge_response(const CaseFile& file, const plan::PlannedCheck& check) {
    if (auto early = without_grounds(file, check)) return *early;
    CheckResult result = blank(file, check);
    result.verdict = Verdict::unsure;
    const plan::Box& box = *file.input.plan.box(check.boxes.front());
    auto shape = shape_of(file, box);
    if (!shape) {
        result.says = "nothing of it is heard on its axis";
        return result;
    }
    const bool by_siblings = take_out_siblings(file, box, *shape);
    if (!by_siblings) take_out_room(*shape);
    std::vector<Octave> all = octaves(*shape);
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
