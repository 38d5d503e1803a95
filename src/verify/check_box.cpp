// Checks of one box: polarity, level, arrival, aim.
#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "acoustics/air.hpp"
#include "units/convert.hpp"
#include "verify/case_file.hpp"
#include "verify/phrases.hpp"

namespace proofwalk::verify {
namespace {

// No single reading of polarity is trusted beyond this, and one that was not taken on the axis counts half.
constexpr double most_trust = 0.998, off_axis_share = 0.5, off_axis_loss_db = -10.0;

// Level of a healthy box in its aim band at one gain, unit to unit: of one octave; common practice, no source. The wider
// the band, the more of its ripple averages out.
constexpr double box_octave_u_db = 0.35;

double box_level_u_db(plan::Band band) { return box_octave_u_db / std::sqrt(std::max(1.0, std::log2(band.high_hz / band.low_hz))); }

double log_odds(double probability) {
    const double p = std::clamp(probability, 1.0 - most_trust, most_trust);
    return std::log(p / (1.0 - p));
}

std::size_t source_of(const CaseFile& file, const plan::PlannedCheck& check) {
    return *file.fit->scene().source_of_circuit(check.circuits.front());
}

void name_shared_circuit(const CaseFile& file, const plan::PlannedCheck& check, CheckResult& result) {
    const auto boxes = file.input.plan.boxes_of(check.circuits.front());
    if (boxes.size() < 2) return;
    std::vector<std::string> names;
    for (const plan::Box* box : boxes) names.push_back(box->id);
    result.says += fmt::format(" (of circuit {}: {} sound together)", check.circuits.front(), listed(names));
}

CheckResult unsure(CheckResult result, std::string says, std::string advice = {}) {
    result.verdict = Verdict::unsure;
    result.says = std::move(says);
    result.advice = std::move(advice);
    return result;
}

// Closing words of a check that has a figure but no verdict.
std::string unsettled(const CheckResult& result, const CaseFile& file) {
    const double u = *result.uncertainty / coverage_factor(file.rules().confidence);
    if (!can_pass(u, *result.tolerance, file.rules()))
        return fmt::format("the takes can't settle it: uncertain by {:.2g} {} with a tolerance of {:.2g}", *result.uncertainty,
                           result.unit, *result.tolerance);
    return "too near the limit to settle";
}

}  // namespace

CheckResult judge_polarity(const CaseFile& file, const plan::PlannedCheck& check) {
    if (auto early = without_grounds(file, check)) return *early;
    CheckResult result = blank(file, check);
    const plan::Box& box = *file.input.plan.box(check.boxes.front());
    const int planned = box.inverted != file.input.plan.model_of(box).inverted ? -1 : 1;
    result.target = planned;
    const std::string& axis = check.positions.front();
    double odds = 0.0;
    bool any = false;
    for (const TakenReading* taken : file.readings) {
        if (taken->circuit != box.circuit || !taken->reading.polarity) continue;
        const bool on_axis = taken->position == axis;
        if (!on_axis) {
            const auto bearing = acoustics::bearing(box.pose(), file.input.plan.position(taken->position)->at);
            const plan::Band band = check.band_hz;
            const double loss = file.input.plan.model_of(box).pattern_loss->loss_db(bearing.h_deg, bearing.v_deg,
                                                                                    band.low_hz, band.high_hz);
            if (loss < off_axis_loss_db || std::abs(bearing.h_deg) > 90.0) continue;
        }
        odds += *taken->reading.polarity * log_odds(taken->reading.polarity_confidence) * (on_axis ? 1.0 : off_axis_share);
        any = true;
    }
    if (!any || odds == 0.0)
        return unsure(result, "the first excursion does not tell the polarity",
                      fmt::format("take {} at {} again: nearer, longer or in a quieter moment", box.circuit, axis));
    const int measured = odds > 0.0 ? 1 : -1;
    const double right = 1.0 / (1.0 + std::exp(-std::abs(odds)));
    result.value = measured;
    result.probability = measured == planned ? right : 1.0 - right;
    const double needed = file.rules().decision == plan::Decision::guarded ? file.rules().confidence : 0.5;
    if (right < needed)
        return unsure(result, "the polarity is not certain enough",
                      fmt::format("take {} at {} again: nearer, longer or in a quieter moment", box.circuit, axis));
    // With its treble missing, what comes first is the woofer through its crossover, and that may start either way.
    if (measured != planned && file.circuit(box.circuit).no_treble)
        return unsure(result, "its treble is missing, so the first excursion does not tell the polarity", "mend the high driver first, then take again");
    const char* name = measured > 0 ? "positive" : "inverted";
    if (measured == planned) {
        result.verdict = Verdict::pass;
        result.says = fmt::format("{} as planned", name);
    } else {
        result.verdict = Verdict::fail;
        result.says = fmt::format("{}, the plan has it {}", name, planned > 0 ? "positive" : "inverted");
        result.advice = fmt::format("swap + and - once on the way to {} (cable, amplifier or processor), then take again", box.id);
    }
    name_shared_circuit(file, check, result);
    return result;
}

CheckResult judge_level(const CaseFile& file, const plan::PlannedCheck& check) {
    if (auto early = without_grounds(file, check)) return *early;
    CheckResult result = blank(file, check);
    const std::size_t source = source_of(file, check);
    const Scene& scene = file.fit->scene();
    const Sound* on_axis = scene.heard(source, check.positions.front());
    if (on_axis == nullptr || !on_axis->level_db) return unsure(result, "no level in the aim band");
    const std::vector<std::size_t> others = siblings_of(file, source);
    const plan::Model& model = *scene.sources[source].model;
    std::string against;
    HangFit::Formula formula;
    const auto own = [source](const HangFit::State& state) { return state.figure(source, Figure::sensitivity_db); };
    if (!others.empty()) {
        std::vector<std::string> names;
        for (const std::size_t s : others) names.push_back(scene.sources[s].circuit);
        const auto level = [](std::size_t s) {
            return [s](const HangFit::State& state) { return state.figure(s, Figure::sensitivity_db); };
        };
        // Two others that contradict one another have no middle: the middle of all three stays with the two that agree.
        std::vector<std::size_t> with = others;
        if (others.size() == 2) {
            const Quantity apart = file.fit->quantity([&](const HangFit::State& state) {
                return state.figure(others[0], Figure::sensitivity_db) - state.figure(others[1], Figure::sensitivity_db);
            });
            if (std::abs(apart.value) > std::max(3.0 * apart.u, 0.5 * *result.tolerance)) with.push_back(source);
        }
        formula = [with, own, level](const HangFit::State& state) {
            std::vector<double> levels;
            for (const std::size_t s : with) levels.push_back(level(s)(state));
            return own(state) - median(std::move(levels));
        };
        against = others.size() == 1 ? names.front() : fmt::format("the middle of {}", listed(names));
    } else if (model.level_1m_db) {
        formula = [own, planned = *model.level_1m_db](const HangFit::State& state) { return own(state) - planned; };
        against = "its model";
    } else {
        return unsure(result, "nothing to compare with: it is the only box of its model that is heard, and the model has no level_1m_db",
                      fmt::format("give level_1m_db of model {} in the plan", model.id));
    }
    // What is asked for is a gain, what is heard a level: boxes of a model differ by so much at one gain.
    Quantity off_plan = file.fit->quantity(formula);
    const double box_u = box_level_u_db(model.aim_band_hz), others_u = others.empty() ? 0.0 : box_u / std::sqrt(static_cast<double>(others.size()));
    add_share(off_plan, {"difference from box to box", std::hypot(box_u, others_u)});
    add_lone_sibling_share(file, source, off_plan);
    settle(result, off_plan, *result.tolerance, file);
    if (!result.value) return result;
    const double off = *result.value;
    result.says = fmt::format("{} {} than planned, against {}", level_text(off), off > 0.0 ? "louder" : "quieter", against);
    const std::string either = others.size() == 1 ? fmt::format(" (or {} the other way: two boxes can't tell which)", against) : "";
    if (result.verdict == Verdict::fail)
        result.advice = fmt::format("turn {} {} by {}{}, then take again", check.circuits.front(), off > 0.0 ? "down" : "up",
                                    level_text(off), either);
    if (result.verdict == Verdict::unsure) result.says += "; " + unsettled(result, file);
    name_shared_circuit(file, check, result);
    return result;
}

CheckResult judge_arrival(const CaseFile& file, const plan::PlannedCheck& check) {
    if (auto early = without_grounds(file, check)) return *early;
    CheckResult result = blank(file, check);
    const std::size_t source = source_of(file, check);
    const Scene& scene = file.fit->scene();
    const Sound* heard = scene.heard(source, check.positions.front());
    if (heard == nullptr || !heard->arrival_ms)
        return unsure(result, "no certain first arrival",
                      fmt::format("take {} at {} again: longer or in a quieter moment", check.circuits.front(), check.positions.front()));
    if (heard->untimed_take && !scene.plan->drive_latency_ms && scene.sources.size() < 2)
        return unsure(result, "without a reference channel only differences between arrivals count");
    if (heard->untimed_take)
        return unsure(result, "without a reference channel only differences between arrivals count",
                      fmt::format("take {} again with the reference channel recorded", check.circuits.front()));
    const Vec3 at = scene.positions[heard->position]->at;
    const Source& driven = scene.sources[source];
    const double speed = acoustics::speed_of_sound(scene.air).value;
    double first = 1e9;
    for (const plan::Box* box : driven.boxes)
        first = std::min(first, 1e3 * distance(box->at, at) / speed + box->delay_ms - driven.boxes.front()->delay_ms);
    const double planned = first + driven.signal_delay_ms + driven.model->latency_ms;
    const HangFit::Formula formula = [&](const HangFit::State& state) {
        return state.arrival_ms(source, at) - state.group_delay_ms(source) - state.drive_latency_ms() - planned;
    };
    settle(result, file.fit->quantity(formula), *result.tolerance, file);
    if (!result.value) return result;
    const Quantity alone = file.fit->without_assumed(formula, {Figure::delay_ms});
    if (not_earned(result, alone, file))
        return unsure(result, unearned_text(result.uncertainty.value_or(0.0), result.unit),
                      fmt::format("take {} at {} again: longer or in a quieter moment", check.circuits.front(), check.positions.front()));
    const double off = *result.value;
    result.says = fmt::format("{} {} than planned", time_text(off), off > 0.0 ? "later" : "earlier");
    if (result.verdict == Verdict::fail) {
        result.advice = fmt::format("{} {} {} {}, or find the {} of path", off > 0.0 ? "take" : "add", delay_text(off, speed),
                                    off > 0.0 ? "off the delay of" : "to the delay of", check.circuits.front(),
                                    length_text(off * speed / 1e3));
    }
    if (result.verdict == Verdict::unsure) result.says += "; " + unsettled(result, file);
    name_shared_circuit(file, check, result);
    return result;
}

CheckResult judge_aim(const CaseFile& file, const plan::PlannedCheck& check) {
    if (auto early = without_grounds(file, check)) return *early;
    CheckResult result = blank(file, check);
    const bool horizontal = check.kind == plan::CheckKind::aim_h;
    const std::size_t source = source_of(file, check);
    const Figure figure = horizontal ? Figure::pan_deg : Figure::tilt_deg;
    const plan::Box& box = *file.input.plan.box(check.boxes.front());
    const Quantity off = file.fit->quantity(
        [&](const HangFit::State& state) { return wrapped_deg(state.figure(source, figure)); });
    if (!off.determined()) return unsure(result, "the takes do not determine the aim on this axis");
    if (file.circuit(box.circuit).no_treble)
        return unsure(result, "its treble is missing, and with it the band that tells the aim", "mend the high driver first, then take again");
    settle(result, off, *result.tolerance, file);
    if (!result.value) return result;
    const double by = *result.value;
    if (horizontal) {
        result.says = fmt::format("turned {} to {} of the plan", degrees_text(by), house_side(box.pan_deg, by > 0.0));
        if (result.verdict == Verdict::fail)
            result.advice = fmt::format("turn {} {} to {}, then take again", box.id, degrees_text(by),
                                        house_side(box.pan_deg, by < 0.0));
    } else {
        result.says = fmt::format("aimed {} {} the plan", degrees_text(by), by > 0.0 ? "above" : "below");
        if (result.verdict == Verdict::fail)
            result.advice = fmt::format("tilt {} {} {}, then take again", box.id, by > 0.0 ? "down" : "up", degrees_text(by));
    }
    const std::vector<std::string> outliers = file.fit->outliers(source);
    if (!outliers.empty())
        result.says += fmt::format("; the reading at {} fits nothing and was left out", listed(outliers));
    if (result.verdict == Verdict::unsure) result.says += "; " + unsettled(result, file);
    name_shared_circuit(file, check, result);
    return result;
}

}  // namespace proofwalk::verify
