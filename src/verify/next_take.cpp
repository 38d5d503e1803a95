#include "verify/next_take.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "acoustics/geometry.hpp"
#include "verify/decide.hpp"

namespace proofwalk::verify {
namespace {

constexpr double worth_while = 0.9;         // of the present uncertainty
constexpr double matched_share = 0.25;      // of an unmatched mic's uncertainty: 0.05 of 0.2 dB
constexpr double longer_share = 0.5;        // of the noise, with a sweep four times as long
constexpr double noisy_below_db = 20.0;     // signal-to-noise: above it the room's part is the larger, and that stays
constexpr double covered_loss_db = -12.0;   // farther off the axis the pattern tells nothing

// Uncertainty with the lines of one source narrowed.
double narrowed(const Quantity& quantity, std::string_view source, double share) {
    double variance = quantity.u * quantity.u;
    for (const BudgetLine& line : quantity.budget)
        if (line.source == source) variance -= line.u * line.u * (1.0 - share * share);
    return std::sqrt(std::max(0.0, variance));
}

std::vector<std::string> circuits_of(const plan::Plan& plan, const CheckResult& check) {
    std::vector<std::string> circuits;
    std::size_t from = 0;
    while (from <= check.subject.size()) {
        const std::size_t to = std::min(check.subject.find('+', from), check.subject.size());
        if (const plan::Box* box = plan.box(check.subject.substr(from, to - from))) circuits.push_back(box->circuit);
        from = to + 1;
    }
    return circuits;
}

bool covered(const plan::Plan& plan, const std::string& circuit, const plan::Position& position) {
    const plan::Box& box = *plan.boxes_of(circuit).front();
    const plan::Model& model = plan.model_of(box);
    if (model.pattern == plan::Pattern::omni) return true;
    const auto seen = acoustics::bearing(box.pose(), position.at);
    return std::abs(seen.h_deg) < 90.0 &&
           model.pattern_loss->loss_db(seen.h_deg, seen.v_deg, model.aim_band_hz.low_hz, model.aim_band_hz.high_hz) > covered_loss_db;
}

}  // namespace

std::vector<NextTake> next_takes(const CaseFile& file, const CheckResult& check, const Quantity& quantity) {
    std::vector<NextTake> takes;
    if (!check.value || !check.tolerance || !file.fit || !(quantity.u > 0.0)) return takes;
    const double factor = coverage_factor(file.rules().confidence);
    const auto add = [&](NextTake take) {
        if (!(take.u < worth_while * quantity.u)) return;
        take.settles = decide(*check.value, take.u, *check.tolerance, file.rules()).verdict != Verdict::unsure;
        take.says += fmt::format(": that leaves about {:.2g} {}{}", factor * take.u, check.unit,
                                 take.settles ? "" : ", which may not settle it yet");
        takes.push_back(std::move(take));
    };
    const std::vector<std::string> circuits = circuits_of(file.input.plan, check);
    const bool noisy = std::ranges::any_of(file.readings, [&](const TakenReading* taken) {
        return taken->reading.signal_to_noise_db < noisy_below_db && std::ranges::find(circuits, taken->circuit) != circuits.end() &&
               std::ranges::find(check.positions, taken->position) != check.positions.end();
    });
    if (noisy)
        add({NextTake::Effort::longer_sweep, circuits.front(), {},
             fmt::format("take {} again with a sweep four times as long, or in a quieter moment", fmt::join(circuits, " and ")),
             narrowed(quantity, "noise and room", longer_share)});
    for (const std::string& circuit : circuits) {
        const auto source = file.fit->scene().source_of_circuit(circuit);
        if (!source) continue;
        for (const plan::Position& position : file.input.plan.positions) {
            if (!covered(file.input.plan, circuit, position)) continue;
            const bool again = file.reading(circuit, position.id) != nullptr;
            add({NextTake::Effort::another_place, circuit, position.id,
                 again ? fmt::format("take {} at {} once more, with another mic put up anew", circuit, position.id)
                       : fmt::format("take {} at {} as well", circuit, position.id),
                 file.fit->u_after(quantity, *source, position)});
        }
    }
    add({NextTake::Effort::mic_match, {}, {}, "make a match take of the mics side by side", narrowed(quantity, "mic match", matched_share)});
    std::ranges::stable_sort(takes, [](const NextTake& a, const NextTake& b) {
        if (a.settles != b.settles) return a.settles;
        if (a.settles && a.effort != b.effort) return a.effort < b.effort;
        return a.u < b.u;
    });
    return takes;
}

std::string take_advice(const CaseFile& file, const CheckResult& check, const Quantity& quantity) {
    const std::vector<NextTake> takes = next_takes(file, check, quantity);
    return takes.empty() ? std::string{} : takes.front().says;
}

}  // namespace proofwalk::verify
