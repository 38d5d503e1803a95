// Simulated shows: faults fall on a rig as the odds say and are hung there for real (turned, moved, late, silent, crossed ...), a crew has so
// many minutes, and the verdicts of what it took in them tell what it found. Planned walk and walk box by box meet the same rig.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <random>
#include <string>
#include <vector>

#include "plan/targets.hpp"
#include "units/convert.hpp"
#include "verify/judge.hpp"
#include "walk/route/agenda.hpp"

namespace proofwalk::walk::route {

// A fault matters when harm times the share of the audience is at least this: 1 % of the seats without sound, 2 % with half the harm.
inline constexpr double least_matter = 0.01;

struct FaultThatFell {
    plan::CheckKind kind = plan::CheckKind::sounding;
    std::vector<std::string> boxes;
    double weight = 0.0;  // harm times audience
};

// What really hangs there: the plan with its faults, and what no plan can say.
struct HungRig {
    plan::Plan plan;
    std::vector<bool> silent, no_treble;   // box
    std::vector<std::size_t> sounds;       // which box the signal of a box reaches
    std::vector<FaultThatFell> faults;
};

class ShowDice {
public:
    explicit ShowDice(unsigned seed) : random_(seed) {}
    double uniform(double low, double high) { return low + (high - low) * static_cast<double>(random_() >> 11) * 0x1.0p-53; }
    bool falls(double likelihood) { return uniform(0.0, 1.0) < likelihood; }
    double normal(double u) { return u * std::sqrt(-2.0 * std::log(1.0 - uniform(0.0, 1.0))) * std::cos(2.0 * std::numbers::pi * uniform(0.0, 1.0)); }
    // Two to four tolerances off, either way.
    double off(double tolerance) { return (falls(0.5) ? 1.0 : -1.0) * uniform(2.0, 4.0) * tolerance; }

private:
    std::mt19937_64 random_;
};

inline std::size_t box_number(const plan::Plan& plan, const std::string& id) {
    return static_cast<std::size_t>(std::ranges::find(plan.boxes, id, &plan::Box::id) - plan.boxes.begin());
}

inline void hang_fault(HungRig& rig, const plan::Plan& plan, const plan::PlannedCheck& check, ShowDice& dice) {
    using enum plan::CheckKind;
    const std::size_t number = box_number(plan, check.boxes.back());
    plan::Box& box = rig.plan.boxes[number];
    switch (check.kind) {
        case sounding: {
            // One in four is a crossed cable where there is a neighbour to cross it with.
            if (dice.falls(0.25) && plan.boxes.size() > 1) {
                const std::size_t other = (number + 1) % plan.boxes.size();
                std::swap(rig.sounds[number], rig.sounds[other]);
            } else {
                for (const std::string& id : check.boxes) rig.silent[box_number(plan, id)] = true;
            }
            break;
        }
        case polarity: box.inverted = !box.inverted; break;
        case response: rig.no_treble[number] = true; break;
        case level:
        case crossover: box.gain_db += dice.off(plan.rules.level_db); break;
        case arrival: box.delay_ms += dice.off(plan.rules.arrival_ms); break;
        case alignment: box.delay_ms += dice.off(plan.rules.alignment_ms); break;
        case aim_h: box.pan_deg += dice.off(plan.rules.aim_deg); break;
        case aim_v: box.tilt_deg += dice.off(plan.rules.aim_deg); break;
        case splay: box.pan_deg += dice.off(plan.rules.splay_deg); break;
        case spacing: {
            const Vec3 apart = box.at - plan.box(check.boxes.front())->at;
            box.at = box.at + (dice.off(plan.rules.spacing_m) / length(apart)) * apart;
            break;
        }
    }
}

inline HungRig hung_rig(const plan::Plan& plan, const std::vector<plan::PlannedCheck>& checks, const std::vector<Stake>& stakes, const Odds& odds,
                        ShowDice& dice) {
    HungRig rig{plan, std::vector<bool>(plan.boxes.size(), false), std::vector<bool>(plan.boxes.size(), false), {}, {}};
    for (std::size_t index = 0; index < plan.boxes.size(); ++index) {
        // A healthy rig is not perfect.
        plan::Box& box = rig.plan.boxes[index];
        box.pan_deg += dice.uniform(-0.3, 0.3) * plan.rules.aim_deg;
        box.tilt_deg += dice.uniform(-0.3, 0.3) * plan.rules.aim_deg;
        box.gain_db += dice.uniform(-0.4, 0.4);
        box.delay_ms += dice.uniform(-0.1, 0.1);
        rig.sounds.push_back(index);
    }
    for (std::size_t index = 0; index < checks.size(); ++index) {
        if (!dice.falls(stakes[index].likelihood)) continue;
        rig.faults.push_back({checks[index].kind, checks[index].boxes, odds.harm_of(checks[index].kind) * stakes[index].people});
        hang_fault(rig, plan, checks[index], dice);
    }
    return rig;
}

inline signal::Reading heard_reading(const plan::Plan& plan, const HungRig& rig, std::size_t number, const plan::Position& position, ShowDice& dice) {
    constexpr double signal_to_noise_db = 35.0, room_level_u_db = 0.25, room_arrival_u_ms = 0.02, gate_s = 0.003, lost_treble_db = -25.0;
    signal::Reading reading;
    if (rig.silent[rig.sounds[number]]) {
        reading.flags.raise(Flag::no_signal);
        return reading;
    }
    // The box that the cable reaches, with gain and delay of the circuit that it should have been.
    plan::Box box = rig.plan.boxes[rig.sounds[number]];
    box.gain_db = rig.plan.boxes[number].gain_db;
    box.delay_ms = rig.plan.boxes[number].delay_ms;
    const plan::Model& model = plan.model_of(box);
    plan::Position there = position;
    const double place_u_m = position.place_u_m.value_or(plan.rules.mic_place_m);
    there.at = there.at + Vec3{dice.normal(place_u_m), dice.normal(place_u_m), dice.normal(place_u_m)};
    plan::Target target = plan::target(rig.plan, box, there, plan.air);
    const bool lost = rig.no_treble[rig.sounds[number]];
    const double level_off_db = dice.normal(std::hypot(room_level_u_db, model.pattern_u_db, plan.rules.mic_match_db));
    const double noise = amplitude_of_db(-signal_to_noise_db - target.loss_db);
    reading.arrival_s = Measured{target.arrival_s + dice.normal(room_arrival_u_ms) / 1e3, std::hypot(room_arrival_u_ms, 0.1 * noise) / 1e3};
    reading.polarity = box.inverted != model.inverted ? -1 : 1;
    reading.polarity_confidence = 0.999;
    reading.aim_band_db = Measured{target.aim_band_db + level_off_db + (lost ? lost_treble_db : 0.0), std::hypot(room_level_u_db, 3.0 * noise)};
    reading.direct_db = reading.full_db = target.shape_db;
    for (std::size_t band = 0; band < band_count; ++band) {
        if (!target.shape_db.has(band)) continue;
        const double off_db = level_off_db + (lost && midband_hz(band) > 1500.0 ? lost_treble_db : 0.0);
        reading.direct_db[band] = reading.full_db[band] = target.shape_db[band] + off_db;
        reading.direct_u_db[band] = reading.full_u_db[band] = room_level_u_db;
        reading.noise_db[band] = target.aim_band_db - target.loss_db - signal_to_noise_db;
    }
    reading.gate_s = gate_s;
    reading.gate_resolves_from_hz = 2.0 / gate_s;
    reading.signal_to_noise_db = signal_to_noise_db + target.loss_db;
    return reading;
}

// The verdicts of what an agenda takes. Every circuit that sounds is heard by all mics that stand.
inline verify::Judgement verdicts_of(const plan::Plan& plan, const HungRig& rig, const Agenda& agenda, unsigned seed) {
    ShowDice dice(seed);
    verify::Input input;
    input.plan = plan;
    for (const Leg& leg : agenda.legs)
        for (const std::string& circuit : leg.circuits)
            for (std::size_t mic = 0; mic < leg.positions.size(); ++mic) {
                const std::size_t number = box_number(plan, plan.boxes_of(circuit).front()->id);
                input.readings.push_back({"t", circuit, "m" + std::to_string(mic + 1), leg.positions[mic],
                                          heard_reading(plan, rig, number, *plan.position(leg.positions[mic]), dice)});
            }
    return verify::judge(input);
}

// What the tally puts before people: a fail, or a figure beyond its tolerance that is not settled yet.
inline bool is_named(const verify::CheckResult& result) {
    return result.verdict == verify::Verdict::fail ||
           (result.verdict == verify::Verdict::unsure && result.value && result.tolerance && std::abs(*result.value) > *result.tolerance);
}

// Found: a check of a kind that leads to this fault is named on one of its boxes.
inline bool is_found(const plan::Plan& plan, const FaultThatFell& fault, const verify::Judgement& judgement) {
    using enum plan::CheckKind;
    const auto leads = [&](plan::CheckKind verdict) {
        switch (fault.kind) {
            case sounding: return verdict == sounding;
            case polarity: return verdict == polarity;
            case response: return verdict == response;
            case level:
            case crossover: return verdict == level || verdict == crossover;
            case arrival:
            case alignment: return verdict == arrival || verdict == alignment;
            case spacing: return verdict == spacing || verdict == arrival || verdict == alignment;
            case aim_h: return verdict == aim_h || verdict == splay || verdict == crossover;
            case aim_v: return verdict == aim_v || verdict == splay || verdict == crossover;
            case splay: return verdict == aim_h || verdict == splay || verdict == crossover;
        }
        return false;
    };
    const std::vector<plan::PlannedCheck> planned = plan::checks(plan);
    for (std::size_t index = 0; index < planned.size(); ++index)
        if (is_named(judgement.checks[index]) && leads(planned[index].kind) &&
            std::ranges::find_first_of(planned[index].boxes, fault.boxes) != planned[index].boxes.end())
            return true;
    return false;
}

struct Found {
    std::size_t faults = 0, planned = 0, box_by_box = 0;
    double weight = 0.0, planned_weight = 0.0, box_by_box_weight = 0.0;  // harm times audience
    std::array<std::array<std::size_t, 3>, check_kinds> by_kind{};
    [[nodiscard]] double planned_share() const { return faults == 0 ? 1.0 : static_cast<double>(planned) / static_cast<double>(faults); }
    [[nodiscard]] double box_by_box_share() const { return faults == 0 ? 1.0 : static_cast<double>(box_by_box) / static_cast<double>(faults); }
    Found& operator+=(const Found& more) {
        faults += more.faults;
        planned += more.planned;
        box_by_box += more.box_by_box;
        weight += more.weight;
        planned_weight += more.planned_weight;
        box_by_box_weight += more.box_by_box_weight;
        for (std::size_t kind = 0; kind < check_kinds; ++kind)
            for (std::size_t column = 0; column < 3; ++column) by_kind[kind][column] += more.by_kind[kind][column];
        return *this;
    }
};

inline Found shows_on(const plan::Plan& plan, const Situation& situation, std::size_t shows, unsigned seed) {
    std::vector<plan::PlannedCheck> checks;
    for (const CheckNeeds& needs : needs_of(plan))
        if (!needs.pairs.empty()) checks.push_back(needs.check);
    const std::vector<Stake> stakes = stakes_of(plan, checks, situation.odds);
    const Agenda planned = agenda(plan, situation), boxes = box_by_box(plan, situation);
    Found found;
    for (std::size_t show = 0; show < shows; ++show) {
        const unsigned number = seed * 100003u + static_cast<unsigned>(show);
        ShowDice dice(number);
        const HungRig rig = hung_rig(plan, checks, stakes, situation.odds, dice);
        if (std::ranges::none_of(rig.faults, [](const FaultThatFell& fault) { return fault.weight >= least_matter; })) continue;
        const verify::Judgement by_plan = verdicts_of(plan, rig, planned, number + 1), by_box = verdicts_of(plan, rig, boxes, number + 1);
        for (const FaultThatFell& fault : rig.faults) {
            if (fault.weight < least_matter) continue;
            const bool with_plan = is_found(plan, fault, by_plan), with_boxes = is_found(plan, fault, by_box);
            ++found.faults;
            found.planned += with_plan ? 1 : 0;
            found.box_by_box += with_boxes ? 1 : 0;
            found.weight += fault.weight;
            found.planned_weight += with_plan ? fault.weight : 0.0;
            found.box_by_box_weight += with_boxes ? fault.weight : 0.0;
            auto& kind = found.by_kind[static_cast<std::size_t>(fault.kind)];
            ++kind[0];
            kind[1] += with_plan ? 1 : 0;
            kind[2] += with_boxes ? 1 : 0;
        }
    }
    return found;
}

}  // namespace proofwalk::walk::route
