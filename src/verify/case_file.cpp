#include "verify/case_file.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "verify/next_take.hpp"
#include "verify/phrases.hpp"

namespace proofwalk::verify {
namespace {

struct Facts {
    std::string_view unit;
    double plan::Rules::*tolerance;
};

Facts facts(plan::CheckKind kind) {
    using enum plan::CheckKind;
    switch (kind) {
        case sounding: return {"dB", nullptr};
        case polarity: return {"", nullptr};
        case response: return {"dB", &plan::Rules::response_db};
        case level: return {"dB", &plan::Rules::level_db};
        case arrival: return {"ms", &plan::Rules::arrival_ms};
        case aim_h:
        case aim_v: return {"deg", &plan::Rules::aim_deg};
        case splay: return {"deg", &plan::Rules::splay_deg};
        case spacing: return {"m", &plan::Rules::spacing_m};
        case crossover: return {"dB", &plan::Rules::crossover_db};
        case alignment: return {"ms", &plan::Rules::alignment_ms};
    }
    return {"", nullptr};
}

void add_once(std::vector<std::string>& names, const std::string& name) {
    if (std::ranges::find(names, name) == names.end()) names.push_back(name);
}

// Positions of the check that no usable reading of a circuit covers. One edge of an axis is enough for an aim.
std::vector<std::string> positions_without_take(const CaseFile& file, const plan::PlannedCheck& check) {
    std::vector<std::string> lacking;
    bool edge_heard = false, edge_asked = false;
    const bool aim = check.kind == plan::CheckKind::aim_h || check.kind == plan::CheckKind::aim_v;
    for (std::size_t i = 0; i < check.positions.size(); ++i) {
        const std::string& place = check.positions[i];
        bool heard = true;
        for (std::size_t c = 0; c < check.circuits.size(); ++c) {
            // Of the positions of a pair each circuit needs its own axis and the common crossover.
            if (check.boxes.size() == 2) {
                const plan::Position* other_axis = file.input.plan.serving(plan::Role::on_axis, check.boxes[1 - c]);
                const plan::Position* own_axis = file.input.plan.serving(plan::Role::on_axis, check.boxes[c]);
                if (other_axis != nullptr && other_axis->id == place && (own_axis == nullptr || own_axis->id != place)) continue;
            }
            heard = heard && file.reading(check.circuits[c], place) != nullptr;
        }
        if (aim && i > 0) {
            edge_asked = true;
            edge_heard = edge_heard || heard;
        } else if (!heard) {
            lacking.push_back(place);
        }
    }
    if (edge_asked && !edge_heard) lacking.insert(lacking.end(), check.positions.begin() + 1, check.positions.end());
    return lacking;
}

}  // namespace

const CircuitState& CaseFile::circuit(std::string_view id) const {
    return *std::ranges::find(circuits, id, &CircuitState::circuit);
}

const TakenReading* CaseFile::reading(std::string_view circuit_id, std::string_view position) const {
    const auto found = std::ranges::find_if(readings, [&](const TakenReading* taken) {
        return taken->circuit == circuit_id && taken->position == position;
    });
    return found == readings.end() ? nullptr : *found;
}

CheckResult blank(const CaseFile& file, const plan::PlannedCheck& check) {
    CheckResult result;
    result.kind = check.kind;
    result.subject = check.subject;
    const Facts known = facts(check.kind);
    result.unit = known.unit;
    if (known.tolerance != nullptr) {
        result.tolerance = file.rules().*known.tolerance;
        result.target = 0.0;
    }
    for (const std::string& circuit : check.circuits) {
        for (const TakenReading* taken : file.readings) {
            if (taken->circuit != circuit) continue;
            const bool asked = std::ranges::find(check.positions, taken->position) != check.positions.end();
            if (!asked) continue;
            add_once(result.takes, taken->take);
            add_once(result.positions, taken->position);
        }
    }
    return result;
}

std::optional<CheckResult> without_grounds(const CaseFile& file, const plan::PlannedCheck& check) {
    CheckResult result = blank(file, check);
    if (!check.missing.empty()) {
        result.says = fmt::format("the plan has no position for it ({})", listed(check.missing));
        result.advice = "add the position to the plan";
        return result;
    }
    for (const std::string& id : check.circuits) {
        const CircuitState& circuit = file.circuit(id);
        if (circuit.sounds == Sounds::silent) {
            result.says = fmt::format("{} does not sound", id);
            return result;
        }
    }
    for (const std::string& id : check.circuits) {
        const CircuitState& circuit = file.circuit(id);
        if (circuit.sounds == Sounds::heard && !circuit.patched_right()) {
            result.verdict = Verdict::unsure;
            result.says = fmt::format("patch first: {} does not sound where the plan has it", id);
            return result;
        }
    }
    const std::vector<std::string> lacking = positions_without_take(file, check);
    if (!lacking.empty()) {
        for (const TakenReading& taken : file.input.readings) {
            const bool asked = std::ranges::find(lacking, taken.position) != lacking.end() &&
                               std::ranges::find(check.circuits, taken.circuit) != check.circuits.end();
            const std::string reason = asked ? unusable(taken.reading) : std::string{};
            if (reason.empty()) continue;
            result.verdict = Verdict::unsure;
            result.says = fmt::format("no usable take at {}: {}", taken.position, reason);
            result.advice = fmt::format("take {} at {} again", taken.circuit, taken.position);
            return result;
        }
        result.says = fmt::format("not measured at {}", listed(lacking));
        return result;
    }
    using enum plan::CheckKind;
    const bool by_the_fit = check.kind != sounding && check.kind != polarity && check.kind != response;
    for (const std::string& id : check.circuits) {
        if (!by_the_fit || file.circuit(id).sounds != Sounds::heard || file.circuit(id).patch_clear) continue;
        result.verdict = Verdict::unsure;
        result.says = fmt::format("patch first: the takes do not tell which box {} feeds", id);
        result.advice = fmt::format("take {} at one more position", id);
        return result;
    }
    for (const std::string& id : check.circuits) {
        if (!by_the_fit || (file.fit && file.fit->scene().source_of_circuit(id))) continue;
        result.verdict = Verdict::unsure;
        result.says = fmt::format("too little of {} is heard to judge it", id);
        result.advice = fmt::format("take {} again: nearer, longer or in a quieter moment", id);
        return result;
    }
    return std::nullopt;
}

void settle(CheckResult& result, const Quantity& quantity, double tolerance, const CaseFile& file) {
    const double factor = coverage_factor(file.rules().confidence);
    if (!std::isfinite(quantity.value) || !std::isfinite(quantity.u)) {
        result.verdict = Verdict::unsure;
        result.says = "the takes do not determine it";
        return;
    }
    result.value = quantity.value;
    result.uncertainty = factor * quantity.u;
    result.budget = quantity.budget;
    const Decided decided = decide(quantity.value, quantity.u, tolerance, file.rules());
    result.probability = decided.probability;
    result.verdict = decided.verdict;
    if (result.verdict == Verdict::unsure) result.advice = take_advice(file, result, quantity);
}

bool not_earned(CheckResult& result, const Quantity& alone, const CaseFile& file) {
    if (result.verdict != Verdict::pass) return false;
    const bool could = std::isfinite(alone.u) && can_pass(alone.u, *result.tolerance, file.rules());
    if (could && decide(alone.value, alone.u, *result.tolerance, file.rules()).verdict != Verdict::fail) return false;
    result.verdict = Verdict::unsure;
    if (!std::isfinite(alone.value) || !std::isfinite(alone.u)) return true;
    result.value = alone.value;
    result.uncertainty = coverage_factor(file.rules().confidence) * alone.u;
    result.probability = probability_of_conformity(alone.value, alone.u, *result.tolerance);
    result.budget = {{"the takes alone, nothing assumed", alone.u}};
    return true;
}

double median(std::vector<double> values) {
    std::ranges::sort(values);
    const std::size_t half = values.size() / 2;
    return values.size() % 2 == 1 ? values[half] : 0.5 * (values[half - 1] + values[half]);
}

std::vector<std::size_t> siblings_of(const CaseFile& file, std::size_t source) {
    const Scene& scene = file.fit->scene();
    std::vector<std::size_t> others;
    for (std::size_t s = 0; s < scene.sources.size(); ++s) {
        if (s == source || scene.sources[s].model != scene.sources[source].model) continue;
        const CircuitState& state = file.circuit(scene.sources[s].circuit);
        if (state.sounds != Sounds::heard || state.no_treble) continue;
        // A crossed circuit still tells its model's level where crossing changes no planned gain.
        if (!state.patched_right() && scene.sources[s].boxes.front()->gain_db != scene.sources[s].signal_gain_db) continue;
        const bool has_level = std::ranges::any_of(scene.sounds, [&](const Sound& sound) {
            return sound.source == s && sound.level_db.has_value();
        });
        if (has_level) others.push_back(s);
    }
    return others;
}

void add_lone_sibling_share(const CaseFile& file, std::size_t source, Quantity& level_db) {
    const std::vector<std::size_t> others = siblings_of(file, source);
    const plan::Plan& plan = file.input.plan;
    const plan::Model* model = file.fit->scene().sources[source].model;
    const auto circuits = plan.circuits();
    const auto planned = std::ranges::count_if(circuits, [&](const std::string& circuit) { return &plan.model_of(*plan.boxes_of(circuit).front()) == model; });
    if (others.size() != 1 || planned < 3) return;
    const Quantity apart = file.fit->quantity([&](const HangFit::State& state) {
        return state.figure(source, Figure::sensitivity_db) - state.figure(others.front(), Figure::sensitivity_db);
    });
    if (const double u = 0.5 * std::abs(apart.value); u > 0.0) add_share(level_db, {"which of the two is off", u});
}

std::optional<HangFit::Formula> model_sensitivity(const CaseFile& file, std::size_t source) {
    const plan::Model& model = *file.fit->scene().sources[source].model;
    std::vector<std::size_t> all = siblings_of(file, source);
    if (all.empty()) {
        if (!model.level_1m_db) return std::nullopt;
        return [planned = *model.level_1m_db](const HangFit::State&) { return planned; };
    }
    if (!file.circuit(file.fit->scene().sources[source].circuit).no_treble) all.push_back(source);
    return [all](const HangFit::State& state) {
        std::vector<double> levels;
        for (const std::size_t s : all) levels.push_back(state.figure(s, Figure::sensitivity_db));
        return median(std::move(levels));
    };
}

}  // namespace proofwalk::verify
