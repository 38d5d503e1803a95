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

// The boxes that a fault's verdicts hang on: its own, their neighbours, what a crossed cable reaches, and a few alike to compare levels with.
// Judging them alone is some ten times faster than the whole rig, and knows a little less.
inline plan::Plan around(const plan::Plan& plan, const HungRig& rig, const FaultThatFell& fault) {
    constexpr std::size_t enough = 4;
    std::vector<std::string> kept = fault.boxes;
    const auto keep = [&](const std::string& id) {
        if (std::ranges::find(kept, id) == kept.end()) kept.push_back(id);
    };
    for (const std::string& id : fault.boxes) {
        const std::size_t number = box_number(plan, id);
        keep(plan.boxes[rig.sounds[number]].id);
        keep(plan.boxes[static_cast<std::size_t>(std::ranges::find(rig.sounds, number) - rig.sounds.begin())].id);
        for (const plan::Array& array : plan.arrays)
            for (std::size_t index = 0; index + 1 < array.boxes.size(); ++index) {
                if (array.boxes[index] == id) keep(array.boxes[index + 1]);
                if (array.boxes[index + 1] == id) keep(array.boxes[index]);
            }
    }
    for (const plan::Box& box : plan.boxes)
        if (kept.size() < enough && box.model == plan.box(fault.boxes.front())->model) keep(box.id);
    const auto gone = [&](const std::string& id) { return std::ranges::find(kept, id) == kept.end(); };
    plan::Plan part = plan;
    std::erase_if(part.boxes, [&](const plan::Box& box) { return gone(box.id); });
    for (plan::Array& array : part.arrays) std::erase_if(array.boxes, gone);
    std::erase_if(part.arrays, [](const plan::Array& array) { return array.boxes.size() < 2; });
    for (plan::Position& position : part.positions)
        std::erase_if(position.serves, [&](const plan::Serve& serve) { return std::ranges::any_of(serve.boxes, gone); });
    return part;
}

// The verdicts on a part of a plan of what an agenda takes. A circuit is heard by the mics inside its pattern, and by the best placed one in
// any case. The same reading of the same show for whatever is judged.
inline verify::Judgement verdicts_of(const plan::Plan& plan, const plan::Plan& part, const HungRig& rig, const Agenda& agenda, unsigned seed) {
    constexpr double beside_db = -12.0;
    verify::Input input;
    input.plan = part;
    for (const Leg& leg : agenda.legs)
        for (const std::string& circuit : leg.circuits) {
            if (part.boxes_of(circuit).empty()) continue;
            const plan::Box& box = *plan.boxes_of(circuit).front();
            std::vector<double> losses_db;
            for (const std::string& position : leg.positions) losses_db.push_back(plan::target(plan, box, *plan.position(position), plan.air).loss_db);
            const double best_db = *std::ranges::max_element(losses_db);
            for (std::size_t mic = 0; mic < leg.positions.size(); ++mic) {
                if (losses_db[mic] <= beside_db && losses_db[mic] != best_db) continue;
                const plan::Position& position = *plan.position(leg.positions[mic]);
                ShowDice dice(seed + 7919u * static_cast<unsigned>(box_number(plan, box.id) * plan.positions.size() + static_cast<std::size_t>(&position - plan.positions.data())));
                input.readings.push_back({"t", circuit, "m" + std::to_string(mic + 1), position.id, heard_reading(plan, rig, box_number(plan, box.id), position, dice)});
            }
        }
    return verify::judge(input);
}

// What the tally puts before people: a fail, or a figure beyond its tolerance that is not settled yet.
inline bool is_named(const verify::CheckResult& result) {
    return result.verdict == verify::Verdict::fail ||
           (result.verdict == verify::Verdict::unsure && result.value && result.tolerance && std::abs(*result.value) > *result.tolerance);
}

// The checks on a fault's boxes of a kind that leads to it.
inline std::vector<const verify::CheckResult*> leading_to(const plan::Plan& plan, const FaultThatFell& fault, const verify::Judgement& judgement) {
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
    std::vector<const verify::CheckResult*> leading;
    for (std::size_t index = 0; index < planned.size(); ++index)
        if (leads(planned[index].kind) && std::ranges::find_first_of(planned[index].boxes, fault.boxes) != planned[index].boxes.end())
            leading.push_back(&judgement.checks[index]);
    return leading;
}

// Found: one of them is named.
inline bool is_found(const plan::Plan& plan, const FaultThatFell& fault, const verify::Judgement& judgement) {
    return std::ranges::any_of(leading_to(plan, fault, judgement), [](const auto* check) { return is_named(*check); });
}

// Why a fault was not found: its own checks were not taken, or were and say nothing, or even pass.
enum class Miss { not_taken, unsure, passed };
inline constexpr std::size_t misses = 3;
inline Miss miss_of(const plan::Plan& plan, const FaultThatFell& fault, const verify::Judgement& judgement) {
    Miss miss = Miss::not_taken;
    for (const verify::CheckResult* check : leading_to(plan, fault, judgement)) {
        if (check->kind != fault.kind) continue;
        if (check->verdict == verify::Verdict::unsure && miss == Miss::not_taken) miss = Miss::unsure;
        if (check->verdict == verify::Verdict::pass) miss = Miss::passed;
    }
    return miss;
}

// Of each show one of its faults that matter, drawn at random: how many there were, and what the planned walk and the walk box by box found.
struct Found {
    struct Tally {
        std::size_t fell = 0;
        std::array<std::size_t, 2> found{};
        double weight = 0.0;  // harm times audience
        std::array<double, 2> found_weight{};
        std::array<std::size_t, misses> missed{};  // by the planned walk
        std::size_t beyond = 0;                    // of those, missed by the whole walk without a clock too

        void operator+=(const Tally& more) {
            fell += more.fell;
            beyond += more.beyond;
            for (std::size_t why = 0; why < misses; ++why) missed[why] += more.missed[why];
            weight += more.weight;
            for (std::size_t walk = 0; walk < found.size(); ++walk) {
                found[walk] += more.found[walk];
                found_weight[walk] += more.found_weight[walk];
            }
        }
        [[nodiscard]] double share(std::size_t walk) const { return fell == 0 ? 1.0 : static_cast<double>(found[walk]) / static_cast<double>(fell); }
        [[nodiscard]] double weighted(std::size_t walk) const { return weight == 0.0 ? 1.0 : found_weight[walk] / weight; }
    };
    Tally all;
    std::array<Tally, check_kinds> by_kind{};
    void operator+=(const Found& more) {
        all += more.all;
        for (std::size_t kind = 0; kind < check_kinds; ++kind) by_kind[kind] += more.by_kind[kind];
    }
};
inline constexpr std::size_t planned_walk = 0, walk_box_by_box = 1;

inline Found shows_on(const plan::Plan& plan, const Situation& situation, std::size_t shows, unsigned seed) {
    std::vector<plan::PlannedCheck> checks;
    for (const CheckNeeds& needs : needs_of(plan))
        if (!needs.pairs.empty()) checks.push_back(needs.check);
    const std::vector<Stake> stakes = stakes_of(plan, checks, situation.odds);
    const std::array<Agenda, 2> walks = {agenda(plan, situation), box_by_box(plan, situation)};
    Situation without_clock = situation;
    without_clock.minutes.reset();
    const Agenda whole = agenda(plan, without_clock);
    Found found;
    for (std::size_t show = 0; show < shows; ++show) {
        const unsigned number = seed * 100003u + static_cast<unsigned>(show);
        ShowDice dice(number);
        const HungRig rig = hung_rig(plan, checks, stakes, situation.odds, dice);
        std::vector<FaultThatFell> matter = rig.faults;
        std::erase_if(matter, [](const FaultThatFell& fault) { return fault.weight < least_matter; });
        if (matter.empty()) continue;
        const FaultThatFell& fault = matter[static_cast<std::size_t>(dice.uniform(0.0, static_cast<double>(matter.size())))];
        const plan::Plan part = around(plan, rig, fault);
        Found::Tally one{1, {}, fault.weight, {}, {}, 0};
        for (std::size_t walk = 0; walk < walks.size(); ++walk) {
            const verify::Judgement judgement = verdicts_of(plan, part, rig, walks[walk], number + 1);
            if (is_found(part, fault, judgement)) {
                one.found[walk] = 1;
                one.found_weight[walk] = fault.weight;
            } else if (walk == planned_walk) {
                one.missed[static_cast<std::size_t>(miss_of(part, fault, judgement))] = 1;
                one.beyond = is_found(part, fault, verdicts_of(plan, part, rig, whole, number + 1)) ? 0 : 1;
            }
        }
        found.all += one;
        found.by_kind[static_cast<std::size_t>(fault.kind)] += one;
    }
    return found;
}

}  // namespace proofwalk::walk::route
