// Which circuit really sounds: the same fit as for the hang, once for each circuit of the plan that could be driven.
// Misfits are log-likelihoods, so their difference is the log of the likelihood ratio. Far-off places and aims are paid
// for by the priors of the fit: a box that stands a hall away from its plan is a crossed cable.
#include <algorithm>
#include <cmath>
#include <iterator>
#include <limits>

#include "verify/case_file.hpp"

namespace proofwalk::verify {
namespace {

constexpr double wrong_patch_log_odds = -4.0;  // of a cable being wrong at all, before any take
constexpr double clear_log_odds = 5.0;         // what it takes to name one

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

}  // namespace

void find_patches(const Input& input, const std::vector<const TakenReading*>& readings, std::vector<CircuitState>& circuits) {
    for (CircuitState& state : circuits) {
        if (state.sounds != Sounds::heard) continue;
        std::vector<const TakenReading*> own;
        std::ranges::copy_if(readings, std::back_inserter(own),
                             [&](const TakenReading* taken) { return taken->circuit == state.circuit; });
        const Hypothesis planned = best_delay(input, own, state.circuit, state.circuit);
        if (!std::isfinite(planned.misfit)) continue;
        // A misfit is never negative, so a good plan can't be beaten clearly by any other circuit.
        if (planned.misfit + wrong_patch_log_odds < clear_log_odds) continue;
        Hypothesis best = planned;
        for (const CircuitState& other : circuits) {
            if (other.circuit == state.circuit) continue;
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
