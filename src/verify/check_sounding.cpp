#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "units/convert.hpp"
#include "verify/case_file.hpp"
#include "verify/phrases.hpp"

namespace proofwalk::verify {
namespace {

constexpr double needed_db = 10.0;
constexpr std::size_t needed_octaves = 3;

// Octave signal-to-noise over the model's range: octaves made of whole third-octave triples, from the top down.
std::vector<double> octaves_over_noise(const signal::Reading& reading, plan::Band range) {
    const auto [first, last] = bands_inside(range.low_hz, range.high_hz);
    std::vector<double> octaves;
    for (std::size_t top = last; top >= first + 3; top -= 3) {
        double signal = 0.0, noise = 0.0;
        bool known = true;
        for (std::size_t band = top - 3; band < top; ++band) {
            known = known && reading.full_db.has(band) && reading.noise_db.has(band);
            if (!known) break;
            signal += power_of_db(reading.full_db[band]);
            noise += power_of_db(reading.noise_db[band]);
        }
        octaves.push_back(known ? power_db(signal / noise) : -99.0);
    }
    return octaves;
}

// The level that the best run of adjacent octaves reaches throughout.
double best_run_db(const std::vector<double>& octaves) {
    const std::size_t run = std::min(needed_octaves, octaves.size());
    double best = -99.0;
    for (std::size_t start = 0; run > 0 && start + run <= octaves.size(); ++start)
        best = std::max(best, *std::min_element(octaves.begin() + static_cast<std::ptrdiff_t>(start),
                                                octaves.begin() + static_cast<std::ptrdiff_t>(start + run)));
    return best;
}

std::string crossed_text(const CaseFile& file, const CircuitState& state, std::string& advice) {
    const CircuitState& other = file.circuit(state.drives);
    if (other.sounds == Sounds::heard && other.drives == state.circuit) {
        advice = fmt::format("swap the cables of {} and {}, then take both again", state.circuit, state.drives);
        return fmt::format("crossed: the cable of {} feeds {} and the other way round", state.circuit, state.drives);
    }
    advice = fmt::format("follow the cable of {} to the box that sounds, then take it again", state.circuit);
    return fmt::format("wrong patch: the cable of {} feeds {}", state.circuit, state.drives);
}

}  // namespace

std::vector<CircuitState> circuit_states(const Input& input, const std::vector<const TakenReading*>& readings) {
    std::vector<CircuitState> states;
    for (const std::string& circuit : input.plan.circuits()) {
        CircuitState state;
        state.circuit = state.drives = circuit;
        plan::Band range = input.plan.model_of(*input.plan.boxes_of(circuit).front()).range_hz;
        double best = -99.0;
        double best_octave = -99.0;
        bool arrives = false;
        for (const TakenReading* taken : readings) {
            if (taken->circuit != circuit) continue;
            state.takes.push_back(taken->take);
            state.positions.push_back(taken->position);
            if (taken->reading.flags.has(Flag::no_signal)) continue;
            arrives = arrives || taken->reading.arrival_s.has_value();
            const std::vector<double> octaves = octaves_over_noise(taken->reading, range);
            best = std::max(best, best_run_db(octaves));
            if (!octaves.empty()) best_octave = std::max(best_octave, *std::ranges::max_element(octaves));
        }
        for (std::vector<std::string>* names : {&state.takes, &state.positions}) {
            std::ranges::sort(*names);
            const auto [from, to] = std::ranges::unique(*names);
            names->erase(from, to);
        }
        if (!state.takes.empty()) {
            state.has_figure = best > -90.0;
            state.signal_to_noise_db = best;
            if (best >= needed_db)
                state.sounds = Sounds::heard;
            else
                // What arrives, however quietly, does sound.
                state.sounds = best_octave >= needed_db || arrives ? Sounds::unclear : Sounds::silent;
            if (state.sounds == Sounds::unclear)
                state.reason = "fewer than three adjacent octaves stand 10 dB above the noise";
        } else {
            for (const TakenReading& taken : input.readings) {
                if (taken.circuit != circuit || unusable(taken.reading).empty()) continue;
                state.sounds = Sounds::unusable;
                state.reason = unusable(taken.reading);
                state.takes = {taken.take};
                state.positions = {taken.position};
            }
        }
        states.push_back(state);
    }
    return states;
}

CheckResult judge_sounding(const CaseFile& file, const plan::PlannedCheck& check) {
    CheckResult result = blank(file, check);
    const CircuitState& state = file.circuit(check.subject);
    result.takes = state.takes;
    result.positions = state.positions;
    if (state.has_figure) result.value = state.signal_to_noise_db;
    switch (state.sounds) {
        case Sounds::not_taken: result.says = "not measured"; return result;
        case Sounds::unusable:
            result.verdict = Verdict::unsure;
            result.says = "no usable take: " + state.reason;
            result.advice = fmt::format("take {} again", check.subject);
            return result;
        case Sounds::silent:
            result.verdict = Verdict::fail;
            result.says = "nothing of it is heard above the noise";
            result.advice = fmt::format("check amplifier, mute and cable of {}, then take it again", check.subject);
            return result;
        case Sounds::unclear:
            result.verdict = Verdict::unsure;
            result.says = state.reason;
            result.advice = fmt::format("take {} again: nearer, longer or in a quieter moment", check.subject);
            return result;
        case Sounds::heard: break;
    }
    if (state.drives != state.circuit) {
        result.verdict = Verdict::fail;
        result.says = crossed_text(file, state, result.advice);
        return result;
    }
    if (!state.also_sounding.empty()) {
        result.verdict = Verdict::fail;
        result.says = fmt::format("{} sounds together with it", listed(state.also_sounding));
        result.advice = fmt::format("mute or unpatch {} while {} is taken", listed(state.also_sounding), check.subject);
        return result;
    }
    if (!state.patch_clear && state.fits_nothing) {
        result.verdict = Verdict::unsure;
        result.says = "it sounds, but what is heard fits no box of the plan where it should stand, nor the mics where they should";
        result.advice = fmt::format("see which box sounds when {} is unmuted and where the mics stand, then take again", check.subject);
        return result;
    }
    if (!state.patch_clear) {
        result.verdict = Verdict::unsure;
        result.says = "it sounds, but the takes do not tell its patch from another one";
        result.advice = fmt::format("take {} at one more position", check.subject);
        return result;
    }
    result.verdict = Verdict::pass;
    result.says = fmt::format("sounds, {:.0f} dB above the noise, where the plan has it", state.signal_to_noise_db);
    return result;
}

}  // namespace proofwalk::verify
