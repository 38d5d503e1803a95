#include "verify/judge.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "units/convert.hpp"
#include "units/side_by_side.hpp"
#include "verify/case_file.hpp"
#include "verify/predict.hpp"

namespace proofwalk::verify {
namespace {

// A figure that the takes say nothing of is left out.
void keep(const Quantity& quantity, double plus, std::optional<double>& value, std::optional<double>& u) {
    if (!quantity.determined() || !std::isfinite(quantity.value) || !std::isfinite(quantity.u)) return;
    value = quantity.value + plus;
    u = quantity.u;
}

std::vector<Fit> fits_of(const CaseFile& file) {
    std::vector<Fit> fits;
    if (!file.fit) return fits;
    const Scene& scene = file.fit->scene();
    for (const plan::Box& box : file.input.plan.boxes) {
        const CircuitState& state = file.circuit(box.circuit);
        const auto source = scene.source_of_circuit(box.circuit);
        if (!source || !state.patched_right()) continue;
        const auto figure = [&](Figure which) {
            return file.fit->quantity([&](const HangFit::State& at) { return at.figure(*source, which); });
        };
        Fit fit;
        fit.box = box.id;
        if (scene.sources[*source].model->pattern == plan::Pattern::beam) {
            keep(figure(Figure::pan_deg), box.pan_deg, fit.pan_deg, fit.pan_u_deg);
            if (fit.pan_deg) fit.pan_deg = wrapped_deg(*fit.pan_deg);
            keep(figure(Figure::tilt_deg), box.tilt_deg, fit.tilt_deg, fit.tilt_u_deg);
        }
        if (const auto sensitivity = model_sensitivity(file, *source)) {
            const Quantity gain = file.fit->quantity([&](const HangFit::State& at) {
                return at.figure(*source, Figure::sensitivity_db) - (*sensitivity)(at);
            });
            keep(gain, box.gain_db, fit.gain_db, fit.gain_u_db);
        }
        const std::array<double, 3> planned = {box.at.x, box.at.y, box.at.z};
        const std::array<Figure, 3> axes = {Figure::x_m, Figure::y_m, Figure::z_m};
        for (std::size_t axis = 0; axis < 3; ++axis) keep(figure(axes[axis]), planned[axis], fit.at[axis], fit.at_u[axis]);
        fit.outliers = file.fit->outliers(*source);
        fits.push_back(fit);
    }
    return fits;
}

void block_passes(std::vector<CheckResult>& checks, const std::string& gear_fault) {
    for (CheckResult& check : checks) {
        if (check.verdict != Verdict::pass) continue;
        check.verdict = Verdict::unsure;
        check.says = fmt::format("{}; not a pass, the measuring chain is not proven: {}", check.says, gear_fault);
        check.advice = "prove the gear, then take again";
    }
}

// A fit that contradicts the takes at several positions is no ground for a verdict on the aims it gives.
void doubt_torn_fits(const CaseFile& file, const std::vector<plan::PlannedCheck>& planned, std::vector<CheckResult>& checks) {
    constexpr std::size_t torn = 3;
    if (!file.fit) return;
    for (std::size_t i = 0; i < checks.size(); ++i) {
        CheckResult& check = checks[i];
        using enum plan::CheckKind;
        if (check.kind != aim_h && check.kind != aim_v && check.kind != splay) continue;
        if (check.verdict != Verdict::pass && check.verdict != Verdict::fail) continue;
        for (const std::string& circuit : planned[i].circuits) {
            const auto source = file.fit->scene().source_of_circuit(circuit);
            if (!source || file.fit->outliers(*source).size() < torn) continue;
            check.verdict = Verdict::unsure;
            check.says += fmt::format("; the takes of {} contradict one another", circuit);
            check.advice = fmt::format("check where the mics stand, then take {} again", circuit);
        }
    }
}

// What the plan alone promised of the checks that stayed unsure.
void add_predicted(const plan::Plan& plan, std::vector<CheckResult>& checks) {
    if (std::ranges::none_of(checks, [](const CheckResult& check) { return check.verdict == Verdict::unsure && check.value; })) return;
    const Input promised = heard_as_planned(plan, takes_of(plan));
    const CaseFile file = open_case(promised, Cables::as_planned);
    const std::vector<plan::PlannedCheck> planned = plan::checks(plan);
    for (std::size_t i = 0; i < checks.size() && i < planned.size(); ++i) {
        if (checks[i].verdict != Verdict::unsure || !checks[i].value) continue;
        if (const auto uncertainty = judged(file, planned[i]).uncertainty) checks[i].predicted_u = *uncertainty / coverage_factor(plan.rules.confidence);
    }
}

}  // namespace

CheckResult judged(const CaseFile& file, const plan::PlannedCheck& check) {
    using enum plan::CheckKind;
    switch (check.kind) {
        case sounding: return judge_sounding(file, check);
        case polarity: return judge_polarity(file, check);
        case response: return judge_response(file, check);
        case level: return judge_level(file, check);
        case arrival: return judge_arrival(file, check);
        case aim_h:
        case aim_v: return judge_aim(file, check);
        case splay:
        case spacing:
        case crossover:
        case alignment: return judge_pair(file, check);
    }
    return blank(file, check);
}

CaseFile open_case(const Input& input, Cables cables) {
    CaseFile file{input, newest_usable(input), {}, std::nullopt};
    file.circuits = circuit_states(input, file.readings);
    const std::vector<const TakenReading*> direct = heard_directly(input, file.readings);
    if (cables == Cables::to_be_found) {
        find_patches(input, direct, file.circuits);
        find_doubles(input, file.readings, file.circuits);
    }
    find_missing_treble(file);
    std::vector<Drive> drives;
    for (const CircuitState& state : file.circuits) {
        // What may come from another box, or from two, would turn the neighbours that share its mics.
        const bool evidence = (state.sounds == Sounds::heard || state.sounds == Sounds::unclear) && state.also_sounding.empty() && state.patch_clear;
        drives.push_back({state.circuit, evidence ? state.drives : ""});
    }
    Scene scene = scene_of(input, direct, drives);
    if (!scene.sounds.empty()) file.fit.emplace(std::move(scene), cables == Cables::as_planned ? HangFit::Work::predict : HangFit::Work::solve);
    return file;
}

Judgement judge_as_heard(const Input& input, Cables cables) {
    const CaseFile file = open_case(input, cables);
    Judgement judgement;
    const std::vector<plan::PlannedCheck> planned = plan::checks(input.plan);
    judgement.checks.resize(planned.size());
    side_by_side(planned.size(), [&](std::size_t i) { judgement.checks[i] = judged(file, planned[i]); });
    doubt_torn_fits(file, planned, judgement.checks);
    take_hand_readings(file, judgement.checks);
    if (input.gear_fault) block_passes(judgement.checks, *input.gear_fault);
    judgement.fits = fits_of(file);
    if (file.fit && !input.plan.drive_latency_ms) {
        const Quantity latency = file.fit->quantity([](const HangFit::State& state) { return state.drive_latency_ms(); });
        if (latency.determined()) judgement.drive_latency_ms = Measured{latency.value, latency.u};
    }
    return judgement;
}

Judgement judge(const Input& input) {
    Judgement judgement = judge_as_heard(input, Cables::to_be_found);
    add_predicted(input.plan, judgement.checks);
    return judgement;
}

}  // namespace proofwalk::verify
