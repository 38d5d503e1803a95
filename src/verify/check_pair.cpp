// Checks of two neighbours: splay, spacing, crossover, alignment.
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "acoustics/air.hpp"
#include "acoustics/geometry.hpp"
#include "plan/targets.hpp"
#include "units/convert.hpp"
#include "verify/case_file.hpp"
#include "verify/pair_sum.hpp"
#include "verify/phrases.hpp"

namespace proofwalk::verify {
namespace {

struct Pair {
    std::array<std::size_t, 2> source{};
    std::array<std::size_t, 2> box{};  // index inside its source
    std::array<const plan::Box*, 2> planned{};
    const plan::Position* crossover = nullptr;
};

Pair pair_of(const CaseFile& file, const plan::PlannedCheck& check) {
    Pair pair;
    const Scene& scene = file.fit->scene();
    for (std::size_t i = 0; i < 2; ++i) {
        pair.source[i] = *scene.source_of_circuit(check.circuits[i]);
        pair.planned[i] = file.input.plan.box(check.boxes[i]);
        const auto& boxes = scene.sources[pair.source[i]].boxes;
        for (std::size_t b = 0; b < boxes.size(); ++b)
            if (boxes[b] == pair.planned[i]) pair.box[i] = b;
    }
    pair.crossover = file.input.plan.crossover_of(check.boxes[0], check.boxes[1]);
    return pair;
}

CheckResult unsure(CheckResult result, std::string says, std::string advice = {}) {
    result.verdict = Verdict::unsure;
    result.says = std::move(says);
    result.advice = std::move(advice);
    return result;
}

std::string unsettled(const CheckResult& result, const CaseFile& file) {
    const double u = *result.uncertainty / coverage_factor(file.rules().confidence);
    if (!can_pass(u, *result.tolerance, file.rules()))
        return fmt::format("; the takes can't settle it: uncertain by {:.2g} {} with a tolerance of {:.2g}",
                           *result.uncertainty, result.unit, *result.tolerance);
    return "; too near the limit to settle";
}

// The one of the two whose own deviation is the larger part of the pair's.
std::size_t larger(const Quantity& first, const Quantity& second) {
    return std::abs(first.value) >= std::abs(second.value) ? 0 : 1;
}

CheckResult judge_splay(const CaseFile& file, const Pair& pair, CheckResult result) {
    const auto between = [&](const acoustics::Pose& a, const acoustics::Pose& b) {
        return acoustics::angle_between_deg({a.pan_deg, a.tilt_deg}, {b.pan_deg, b.tilt_deg});
    };
    const double planned = between(pair.planned[0]->pose(), pair.planned[1]->pose());
    const Quantity off = file.fit->quantity([&](const HangFit::State& state) {
        return between(state.pose(pair.source[0], pair.box[0]), state.pose(pair.source[1], pair.box[1])) - planned;
    });
    if (!off.determined()) return unsure(std::move(result), "the takes do not determine the angle between them");
    settle(result, off, *result.tolerance, file);
    if (!result.value) return result;
    result.says = fmt::format("{} {} than planned", degrees_text(off.value), off.value > 0.0 ? "wider" : "narrower");
    if (result.verdict == Verdict::fail) {
        std::array<Quantity, 2> turned;
        for (std::size_t i = 0; i < 2; ++i)
            turned[i] = file.fit->quantity(
                [&](const HangFit::State& state) { return state.figure(pair.source[i], Figure::pan_deg); });
        const std::size_t who = larger(turned[0], turned[1]);
        result.advice = fmt::format("turn {} {} {} {}, then take again", pair.planned[who]->id, degrees_text(off.value),
                                    off.value > 0.0 ? "towards" : "away from", pair.planned[1 - who]->id);
    }
    if (result.verdict == Verdict::unsure) result.says += unsettled(result, file);
    return result;
}

CheckResult judge_spacing(const CaseFile& file, const Pair& pair, CheckResult result) {
    const double planned = distance(pair.planned[0]->at, pair.planned[1]->at);
    const HangFit::Formula formula = [&](const HangFit::State& state) {
        return distance(state.pose(pair.source[0], pair.box[0]).at, state.pose(pair.source[1], pair.box[1]).at) - planned;
    };
    const Quantity off = file.fit->quantity(formula);
    if (!off.determined())
        return unsure(std::move(result), "the takes do not determine the distance between them",
                      "take both at one more position to their side");
    settle(result, off, *result.tolerance, file);
    if (!result.value) return result;
    const Quantity alone = file.fit->without_assumed(formula, {Figure::x_m, Figure::y_m, Figure::z_m});
    if (not_earned(result, alone, file))
        return unsure(result, unearned_text(result.uncertainty.value_or(0.0), result.unit), "take both at one more position to their side");
    result.says = fmt::format("{} {} than planned", length_text(off.value), off.value > 0.0 ? "farther apart" : "nearer together");
    if (result.verdict == Verdict::fail) {
        std::array<Quantity, 2> moved;
        for (std::size_t i = 0; i < 2; ++i)
            moved[i] = file.fit->quantity([&](const HangFit::State& state) {
                return distance(state.pose(pair.source[i], pair.box[i]).at, pair.planned[i]->at);
            });
        const std::size_t who = larger(moved[0], moved[1]);
        result.advice = fmt::format("move {} {} {} {}, then take again", pair.planned[who]->id, length_text(off.value),
                                    off.value > 0.0 ? "towards" : "away from", pair.planned[1 - who]->id);
    }
    if (result.verdict == Verdict::unsure) result.says += unsettled(result, file);
    return result;
}

// How far one source's direct level at the crossover, where it was heard, is off the plan's.
Quantity crossover_off(const CaseFile& file, const Pair& pair, std::size_t i, plan::Band band) {
    const Scene& scene = file.fit->scene();
    const std::size_t source = pair.source[i];
    const Source& driven = scene.sources[source];
    const plan::Box& box = *pair.planned[i];
    auto sensitivity = model_sensitivity(file, source);
    // Without anything to compare with, its own level counts as planned: what is left is its aim and place.
    if (!sensitivity)
        sensitivity = [source](const HangFit::State& state) { return state.figure(source, Figure::sensitivity_db); };
    const plan::Target target = plan::target(file.input.plan, box, *pair.crossover, scene.air);
    const double planned = target.aim_band_db - driven.model->level_1m_db.value_or(0.0);
    // What the pattern deviates by in this very direction is part of what arrives.
    const Sound& heard = *scene.heard(source, pair.crossover->id);
    const auto sound = static_cast<std::size_t>(&heard - scene.sounds.data());
    Quantity off = file.fit->quantity([&](const HangFit::State& state) { return state.level_towards_db(sound) - (*sensitivity)(state) - planned; });
    add_share(off, {"directivity", file.fit->own_pattern_u_db(sound)});
    add_lone_sibling_share(file, source, off);
    if (band == driven.model->aim_band_hz || driven.boxes.size() > 1) return off;
    // In another band than the aim band: the level there beside the same box's level on its axis, both as measured.
    const plan::Position* axis = file.input.plan.serving(plan::Role::on_axis, box.id);
    const Sound* here = axis == nullptr ? nullptr : scene.heard(source, axis->id);
    if (here == nullptr) return off;
    const auto level = [&](const Sound& one) {
        const bool resolved = band.low_hz >= one.reading->gate_resolves_from_hz;
        return power_mean_db(resolved ? one.reading->direct_db : one.reading->full_db, band.low_hz, band.high_hz);
    };
    const double measured = level(heard) - level(*here);
    const plan::Target on_axis = plan::target(file.input.plan, box, *axis, scene.air);
    const double expected = power_mean_db(target.shape_db, band.low_hz, band.high_hz) -
                            power_mean_db(on_axis.shape_db, band.low_hz, band.high_hz);
    if (!std::isfinite(measured) || !std::isfinite(expected)) return off;
    constexpr double room_u_db = 1.5;  // of a level below the gate's resolution, at either place
    const bool resolved = band.low_hz >= std::max(heard.reading->gate_resolves_from_hz, here->reading->gate_resolves_from_hz);
    Quantity gain = file.fit->quantity([&](const HangFit::State& state) {
        return state.figure(source, Figure::sensitivity_db) - (*sensitivity)(state);
    });
    const double reading_u = resolved ? 0.5 : std::sqrt(2.0) * room_u_db;
    gain.value += measured - expected;
    add_share(gain, {"noise and room", reading_u});
    return gain;
}

CheckResult judge_crossover(const CaseFile& file, const Pair& pair, CheckResult result, plan::Band band) {
    std::array<Quantity, 2> off;
    std::array<Decided, 2> decided;
    for (std::size_t i = 0; i < 2; ++i) {
        const Sound* heard = file.fit->scene().heard(pair.source[i], pair.crossover->id);
        if (heard == nullptr || !heard->level_db)
            return unsure(std::move(result), fmt::format("no level of {} at the crossover", pair.planned[i]->id));
        off[i] = crossover_off(file, pair, i, band);
        decided[i] = decide(off[i].value, off[i].u, *result.tolerance, file.rules());
    }
    const std::size_t who = larger(off[0], off[1]);
    settle(result, off[who], *result.tolerance, file);
    if (!result.value) return result;
    // Both must arrive as planned: the worse verdict of the two counts.
    if (decided[1 - who].verdict == Verdict::fail) result.verdict = Verdict::fail;
    if (decided[1 - who].verdict == Verdict::unsure && result.verdict == Verdict::pass) result.verdict = Verdict::unsure;
    result.probability = std::min(decided[0].probability, decided[1].probability);
    result.says = fmt::format("at the crossover {} is {:+.1f} dB and {} is {:+.1f} dB off the plan", pair.planned[0]->id,
                              off[0].value, pair.planned[1]->id, off[1].value);
    if (result.verdict == Verdict::fail)
        result.advice = fmt::format("set the aim and place of {} right first; else turn it {} by {}, then take again",
                                    pair.planned[who]->id, off[who].value > 0.0 ? "down" : "up", level_text(off[who].value));
    if (result.verdict == Verdict::unsure) result.says += unsettled(result, file);
    return result;
}

// What the take with both sounding says beside what each alone predicts; empty without such a take.
std::string sum_text(const CaseFile& file, const Pair& pair) {
    const std::string &a = pair.planned[0]->circuit, &b = pair.planned[1]->circuit;
    const TakenReading *first = file.reading(a, pair.crossover->id), *second = file.reading(b, pair.crossover->id);
    const TakenReading* both = nullptr;
    for (const TakenReading& taken : file.input.readings)
        if ((taken.circuit == a + "+" + b || taken.circuit == b + "+" + a) && taken.position == pair.crossover->id && unusable(taken.reading).empty())
            both = &taken;
    if (first == nullptr || second == nullptr || both == nullptr) return {};
    const auto sum = pair_sum(first->reading, second->reading, both->reading);
    if (!sum) return {};
    if (sum->other_polarity()) return fmt::format("; together they sound as if one of them were inverted ({:.1f} dB off the predicted sum)", sum->off_db);
    if (sum->as_predicted()) return fmt::format("; both together sound as predicted within {:.1f} dB", sum->off_db);
    return fmt::format("; both together are {:.1f} dB off the sum that each alone predicts: look for an all-pass or a third source", sum->off_db);
}

CheckResult judge_alignment(const CaseFile& file, const Pair& pair, CheckResult result) {
    const Scene& scene = file.fit->scene();
    std::array<const Sound*, 2> heard{};
    for (std::size_t i = 0; i < 2; ++i) {
        heard[i] = scene.heard(pair.source[i], pair.crossover->id);
        if (heard[i] == nullptr || !heard[i]->arrival_ms)
            return unsure(std::move(result), fmt::format("no certain first arrival of {} at the crossover", pair.planned[i]->id),
                          fmt::format("take {} at {} again: longer or in a quieter moment", pair.planned[i]->circuit, pair.crossover->id));
    }
    if (heard[0]->untimed_take != heard[1]->untimed_take && (heard[0]->untimed_take || heard[1]->untimed_take))
        return unsure(std::move(result), "without a reference channel arrivals of different takes can't be compared",
                      "take both again with the reference channel recorded");
    const double speed = acoustics::speed_of_sound(scene.air).value;
    const auto planned = [&](std::size_t i) {
        const plan::Box& box = *pair.planned[i];
        return 1e3 * distance(box.at, pair.crossover->at) / speed + box.delay_ms + file.input.plan.model_of(box).latency_ms;
    };
    const double target = planned(1) - planned(0);
    const HangFit::Formula formula = [&](const HangFit::State& state) {
        return state.arrival_ms(pair.source[1], pair.crossover->at) - state.group_delay_ms(pair.source[1]) -
               state.arrival_ms(pair.source[0], pair.crossover->at) + state.group_delay_ms(pair.source[0]) - target;
    };
    settle(result, file.fit->quantity(formula), *result.tolerance, file);
    if (!result.value) return result;
    const Quantity alone = file.fit->without_assumed(formula, {Figure::delay_ms});
    if (not_earned(result, alone, file))
        return unsure(result, unearned_text(result.uncertainty.value_or(0.0), result.unit),
                      fmt::format("take {} and {} at {} again: longer or in a quieter moment", pair.planned[0]->circuit,
                                  pair.planned[1]->circuit, pair.crossover->id));
    const double off = *result.value;
    result.says = fmt::format("{} arrives {} {} against {} than planned", pair.planned[1]->id, time_text(off),
                              off > 0.0 ? "later" : "earlier", pair.planned[0]->id);
    if (result.verdict == Verdict::fail) {
        // The one that is off its own planned arrival is the one to change.
        std::array<Quantity, 2> own;
        for (std::size_t i = 0; i < 2; ++i)
            own[i] = file.fit->quantity([&](const HangFit::State& state) {
                return state.arrival_ms(pair.source[i], pair.crossover->at) - state.group_delay_ms(pair.source[i]) -
                       state.drive_latency_ms() - planned(i);
            });
        const std::size_t who = larger(own[0], own[1]);
        const double late = who == 1 ? off : -off;
        result.advice = fmt::format("{} {} {} {}, then take again", late > 0.0 ? "take" : "add", delay_text(off, speed),
                                    late > 0.0 ? "off the delay of" : "to the delay of", pair.planned[who]->circuit);
    }
    if (result.verdict == Verdict::unsure) result.says += unsettled(result, file);
    result.says += sum_text(file, pair);
    return result;
}

}  // namespace

CheckResult judge_pair(const CaseFile& file, const plan::PlannedCheck& check) {
    if (auto early = without_grounds(file, check)) return *early;
    const Pair pair = pair_of(file, check);
    CheckResult result = blank(file, check);
    for (const std::string& circuit : check.circuits) {
        const bool by_level = check.kind == plan::CheckKind::splay || check.kind == plan::CheckKind::crossover;
        if (by_level && file.circuit(circuit).no_treble)
            return unsure(std::move(result), fmt::format("the treble of {} is missing, and with it the band that tells", circuit),
                          fmt::format("mend the high driver of {} first, then take again", circuit));
    }
    using enum plan::CheckKind;
    if (check.kind == splay) return judge_splay(file, pair, std::move(result));
    if (check.kind == spacing) return judge_spacing(file, pair, std::move(result));
    if (check.kind == crossover) return judge_crossover(file, pair, std::move(result), check.band_hz);
    return judge_alignment(file, pair, std::move(result));
}

}  // namespace proofwalk::verify
