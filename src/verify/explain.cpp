#include "verify/explain.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "plan/targets.hpp"
#include "verify/case_file.hpp"
#include "verify/decide.hpp"

namespace proofwalk::verify {
namespace {

std::vector<std::string> roles_of(const plan::Plan& plan, const plan::Position& position, const std::string& circuit) {
    std::vector<std::string> roles;
    for (const plan::Serve& serve : position.serves)
        if (std::ranges::any_of(serve.boxes, [&](const std::string& id) { return plan.box(id)->circuit == circuit; }))
            roles.emplace_back(plan::word(serve.role));
    return roles;
}

Compared compared(const CaseFile& file, const plan::PlannedCheck& check, std::size_t of_sound) {
    const HangFit& fit = *file.fit;
    const Scene& scene = fit.scene();
    const Sound& sound = scene.sounds[of_sound];
    const Source& source = scene.sources[sound.source];
    const plan::Position& position = *scene.positions[sound.position];
    Compared one{source.circuit, position.id, sound.take, scene.mics[sound.mic], roles_of(*scene.plan, position, source.circuit),
                 std::ranges::find(check.positions, position.id) != check.positions.end(), false,
                 sound.level_db, {}, {}, sound.arrival_ms, {}, {}};
    const std::vector<std::string> outliers = fit.outliers(sound.source);
    one.left_out = std::ranges::find(outliers, position.id) != outliers.end();
    const auto figure = [&](const HangFit::Formula& formula) -> std::optional<double> {
        const double value = fit.quantity(formula).value;
        return std::isfinite(value) ? std::optional(value) : std::nullopt;
    };
    const plan::Target target = plan::target(*scene.plan, *source.boxes.front(), position, scene.air);
    one.fitted_db = figure([&](const HangFit::State& state) { return state.level_db(sound.source, position.at); });
    // Nothing in a plan says how loud a circuit is at a mic: its level as found, over the hang as planned.
    const auto sensitivity = figure([&](const HangFit::State& state) { return state.figure(sound.source, Figure::sensitivity_db); });
    if (sensitivity && source.boxes.size() == 1) {
        const double planned = *sensitivity + target.aim_band_db - source.model->level_1m_db.value_or(0.0);
        if (std::isfinite(planned)) one.planned_db = planned;
    }
    if (sound.arrival_ms && !sound.untimed_take) {
        one.fitted_ms = figure([&](const HangFit::State& state) { return state.arrival_ms(sound.source, position.at); });
        one.planned_ms = 1e3 * target.arrival_s;
    }
    return one;
}

std::string rule_of(const CaseFile& file, const CheckResult& check) {
    const plan::Rules& rules = file.rules();
    if (!check.value || !check.uncertainty || !check.tolerance || !check.probability) return {};
    if (rules.decision == plan::Decision::simple)
        return fmt::format("simple rule: pass when the deviation is within {:g} {}", *check.tolerance, check.unit);
    const double u = *check.uncertainty / coverage_factor(rules.confidence);
    return fmt::format("guarded rule: with {:+.2g} {} and a standard uncertainty of {:.2g} the deviation lies within {:g} {} with a "
                       "probability of {:.3f}; {:g} or more is a pass, {:.2g} or less a fail",
                       *check.value, check.unit, u, *check.tolerance, check.unit, *check.probability, rules.confidence,
                       1.0 - rules.confidence);
}

Explanation explained(const CaseFile& file, const plan::PlannedCheck& planned, CheckResult check) {
    Explanation why;
    why.check = std::move(check);
    why.budget = why.check.budget;
    why.rule = rule_of(file, why.check);
    if (!file.fit) return why;
    for (std::size_t s = 0; s < file.fit->scene().sounds.size(); ++s) {
        const Sound& sound = file.fit->scene().sounds[s];
        if (std::ranges::find(planned.circuits, file.fit->scene().sources[sound.source].circuit) != planned.circuits.end())
            why.compared.push_back(compared(file, planned, s));
    }
    std::ranges::stable_sort(why.compared, std::ranges::greater{}, &Compared::asked);
    return why;
}

template <class Wanted>
std::vector<Explanation> explained_where(const Input& input, const Wanted& wanted) {
    const std::vector<plan::PlannedCheck> planned = plan::checks(input.plan);
    if (std::ranges::none_of(planned, wanted)) return {};
    const CaseFile file = open_case(input);
    const Judgement judgement = judge(input);
    std::vector<Explanation> all;
    for (std::size_t i = 0; i < planned.size(); ++i)
        if (wanted(planned[i])) all.push_back(explained(file, planned[i], judgement.checks[i]));
    return all;
}

}  // namespace

std::optional<Explanation> explain(const Input& input, plan::CheckKind kind, std::string_view subject) {
    auto found = explained_where(input, [&](const plan::PlannedCheck& check) { return check.kind == kind && check.subject == subject; });
    if (found.empty()) return std::nullopt;
    return std::move(found.front());
}

std::vector<Explanation> explain(const Input& input, std::string_view what) {
    const auto kind = plan::check_from_word(what.substr(0, what.find(':')));
    if (kind && what.find(':') == std::string_view::npos)
        return explained_where(input, [&](const plan::PlannedCheck& check) { return check.kind == *kind; });
    if (kind) {
        const std::string_view subject = what.substr(what.find(':') + 1);
        return explained_where(input, [&](const plan::PlannedCheck& check) { return check.kind == *kind && check.subject == subject; });
    }
    return explained_where(input, [&](const plan::PlannedCheck& check) { return check.subject == what; });
}

std::vector<BudgetLine> budget(const Input& input, plan::CheckKind kind, std::string_view subject) {
    const auto why = explain(input, kind, subject);
    return why ? why->budget : std::vector<BudgetLine>{};
}

}  // namespace proofwalk::verify
