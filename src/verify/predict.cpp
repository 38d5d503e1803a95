#include "verify/predict.hpp"

#include <algorithm>
#include <cmath>

#include "plan/targets.hpp"
#include "units/convert.hpp"
#include "verify/case_file.hpp"
#include "verify/decide.hpp"
#include "verify/scene.hpp"

namespace proofwalk::verify {
namespace {

// What the measuring path reaches at a signal-to-noise ratio, from its own uncertainties on recorded rooms.
constexpr double room_level_u_db = 0.25, room_arrival_u_ms = 0.02, gate_s = 0.003;
constexpr double periods_of_top = 0.7;  // of its highest frequency: how well the onset of a low band is told in a room

signal::Reading as_planned(const plan::Plan& plan, const plan::Box& box, const plan::Position& position, double snr_db) {
    const plan::Target target = plan::target(plan, box, position, plan.air);
    const plan::Model& model = plan.model_of(box);
    signal::Reading reading;
    const double noise = amplitude_of_db(-snr_db - target.loss_db);
    const double onset_ms = measured_by_full_sound(model) ? 1e3 * periods_of_top / model.range_hz.high_hz : 0.0;
    reading.arrival_s = Measured{target.arrival_s, std::hypot(room_arrival_u_ms, 0.1 * noise, onset_ms) / 1e3};
    reading.polarity = box.inverted != model.inverted ? -1 : 1;
    reading.polarity_confidence = 0.999;
    reading.aim_band_db = Measured{target.aim_band_db, std::hypot(room_level_u_db, 3.0 * noise)};
    reading.direct_db = reading.full_db = target.shape_db;
    for (std::size_t band = 0; band < band_count; ++band) {
        if (!target.shape_db.has(band)) continue;
        reading.direct_u_db[band] = reading.full_u_db[band] = room_level_u_db;
        reading.noise_db[band] = target.aim_band_db - target.loss_db - snr_db;
    }
    reading.gate_s = gate_s;
    reading.gate_resolves_from_hz = 2.0 / gate_s;
    reading.signal_to_noise_db = snr_db + target.loss_db;
    return reading;
}

}  // namespace

std::vector<PlannedTake> takes_of(const plan::Plan& plan, bool everywhere) {
    std::vector<PlannedTake> takes;
    for (const std::string& circuit : plan.circuits())
        for (const plan::Position& position : plan.positions) {
            const bool serves = std::ranges::any_of(position.serves, [&](const plan::Serve& serve) {
                return std::ranges::any_of(serve.boxes, [&](const std::string& id) { return plan.box(id)->circuit == circuit; });
            });
            if (everywhere || serves) takes.push_back({circuit, position.id, {}});
        }
    return takes;
}

Input heard_as_planned(const plan::Plan& plan, const std::vector<PlannedTake>& takes, double signal_to_noise_db) {
    Input input;
    input.plan = plan;
    for (const PlannedTake& take : takes) {
        const plan::Position* position = plan.position(take.position);
        const auto boxes = plan.boxes_of(take.circuit);
        if (position == nullptr || boxes.empty()) continue;
        input.readings.push_back({"planned", take.circuit, take.mic.empty() ? take.position : take.mic, take.position,
                                  as_planned(plan, *boxes.front(), *position, signal_to_noise_db)});
    }
    return input;
}

std::vector<PredictedCheck> predict(const plan::Plan& plan, const std::vector<PlannedTake>& takes, double signal_to_noise_db) {
    const Input input = heard_as_planned(plan, takes, signal_to_noise_db);
    const double factor = coverage_factor(plan.rules.confidence);
    std::vector<PredictedCheck> predicted;
    for (CheckResult& check : judge_as_heard(input, Cables::as_planned).checks) {
        PredictedCheck one{check.kind, check.subject, std::nullopt, std::move(check.budget), check.verdict, std::move(check.says)};
        if (check.uncertainty) one.u = *check.uncertainty / factor;
        predicted.push_back(std::move(one));
    }
    return predicted;
}

}  // namespace proofwalk::verify
