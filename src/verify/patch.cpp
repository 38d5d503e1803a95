// Which circuit really sounds: the same fit as for the hang, once for each circuit of the plan that could be driven.
// Misfits are log-likelihoods, so their difference is the log of the likelihood ratio. Far-off places and aims are paid
// for by the priors of the fit: a box that stands a hall away from its plan is a crossed cable.
#include <algorithm>
#include <cmath>
#include <iterator>
#include <limits>

#include "acoustics/air.hpp"
#include "verify/case_file.hpp"

namespace proofwalk::verify {
namespace {

constexpr double wrong_patch_log_odds = -3.0;  // of a cable being wrong at all, before any take
constexpr double clear_log_odds = 6.0;         // what it takes to name one
constexpr double certain_arrival_u_s = 1e-4;
constexpr double hopeless_ms = 1.0;  // a circuit whose arrivals lie so much farther off is not even fitted

struct Hypothesis {
    std::string sounds;
    bool delay_moves = false;
    double misfit = std::numeric_limits<double>::infinity();
};

Hypothesis best_delay(const Input& input, const std::vector<const TakenReading*>& own, const std::string& circuit,
                      const std::string& sounds) {
    Hypothesis best{sounds};
    const auto planned = [&](const std::string& id) { return input.plan.boxes_of(id).front()->delay_ms; };
    const bool same_delay = planned(circuit) == planned(sounds);
    for (const bool delay_moves : {false, true}) {
        if (delay_moves && same_delay) continue;
        Scene scene = scene_of(input, own, {{circuit, sounds}});
        if (scene.sounds.empty()) return best;
        if (delay_moves) scene.sources.front().signal_delay_ms = planned(sounds);
        const double misfit = HangFit(std::move(scene)).misfit();
        if (misfit < best.misfit) best = {sounds, delay_moves, misfit};
    }
    return best;
}

// How far the arrivals of a circuit lie off what the planned places of `sounds` would give, beside one common delay: the
// middle of the absolute differences, ms. Cheap, and enough to leave most circuits out.
double arrival_mismatch_ms(const Input& input, const std::vector<const TakenReading*>& own, const std::string& sounds) {
    const acoustics::Air air = input.air.value_or(input.plan.air);
    const double speed = acoustics::speed_of_sound(air).value;
    std::vector<double> off;
    for (const TakenReading* taken : own) {
        const auto& arrival = taken->reading.arrival_s;
        if (!arrival || arrival->u > certain_arrival_u_s || taken->reading.flags.has(Flag::no_signal)) continue;
        const Vec3 at = input.plan.position(taken->position)->at;
        off.push_back(1e3 * (arrival->value - distance(input.plan.boxes_of(sounds).front()->at, at) / speed));
    }
    if (off.size() < 3) return 0.0;
    const double common = median(off);
    for (double& one : off) one = std::abs(one - common);
    return median(off);
}

}  // namespace

void find_patches(const Input& input, const std::vector<const TakenReading*>& readings, std::vector<CircuitState>& circuits) {
    for (CircuitState& state : circuits) {
        if (state.sounds != Sounds::heard) continue;
        std::vector<const TakenReading*> own;
        std::ranges::copy_if(readings, std::back_inserter(own),
                             [&](const TakenReading* taken) { return taken->circuit == state.circuit; });
        const Hypothesis planned = best_delay(input, own, state.circuit, state.circuit);
        if (!std::isfinite(planned.misfit)) continue;
        const double own_mismatch = arrival_mismatch_ms(input, own, state.circuit);
        Hypothesis best = planned;
        for (const CircuitState& other : circuits) {
            if (other.circuit == state.circuit) continue;
            if (arrival_mismatch_ms(input, own, other.circuit) > own_mismatch + hopeless_ms) continue;
            Hypothesis rival = best_delay(input, own, state.circuit, other.circuit);
            rival.misfit -= wrong_patch_log_odds;
            if (rival.misfit < best.misfit) best = rival;
        }
        state.patch_odds = planned.misfit - best.misfit;
        if (best.sounds == state.circuit) continue;
        state.patch_clear = state.patch_odds >= clear_log_odds;
        if (!state.patch_clear) continue;
        state.drives = best.sounds;
        state.delay_moves = best.delay_moves;
    }
}

}  // namespace proofwalk::verify
