// Which circuit really sounds: the same fit as for the hang, once for each circuit of the plan that could be driven.
// Misfits are log-likelihoods, so their difference is the log of the likelihood ratio. Far-off places and aims are paid
// for by the priors of the fit: a box that stands a hall away from its plan is a crossed cable.
#include <algorithm>
#include <cmath>
#include <iterator>
#include <limits>
#include <optional>

#include "acoustics/air.hpp"
#include "verify/case_file.hpp"

namespace proofwalk::verify {
namespace {

constexpr double wrong_patch_log_odds = -3.0;  // of a cable being wrong at all (or two crossed), before any take
// Two circuits on one box while its own is heard too: neighbours in a line imitate one another by their aim, so the takes
// have to say it alone and loudly.
constexpr double doubled_log_odds = -10.0;
constexpr double clear_log_odds = 6.0;         // what it takes to name one
// Of a crossed pair one take may speak a little for the plan, where what parts the two boxes is hardly heard.
constexpr double half_told_log_odds = -15.0;
constexpr double certain_arrival_u_s = 1e-4;
// Readings of one and the same box by two circuits differ by a constant and by the noise of a take.
constexpr double same_box_db = 0.6, same_box_ms = 0.1;
constexpr std::size_t enough_places = 3;
// Circuits whose arrivals lie so much farther off, or which would explain what is heard so much worse if they hung as
// planned, are not even fitted. A box that explains it only by being turned far is not the one: its own is no worse.
constexpr double hopeless_ms = 1.0, hopeless_log_odds = -30.0;

struct Hypothesis {
    std::string sounds;
    bool delay_moves = false;
    bool believable = false;  // explains what was heard
    double misfit = std::numeric_limits<double>::infinity();
};

// The circuit's takes under one box, its delay as planned for the circuit or moved with the box, whichever explains more.
Hypothesis best_delay(const Input& input, const std::vector<const TakenReading*>& own, const std::string& circuit,
                      const std::string& sounds, HangFit::Work work) {
    Hypothesis best{sounds};
    const auto planned = [&](const std::string& id) { return input.plan.boxes_of(id).front()->delay_ms; };
    const bool same_delay = planned(circuit) == planned(sounds);
    const Scene scene = scene_of(input, own, {{circuit, sounds}});
    if (scene.sounds.empty()) return best;
    for (const bool delay_moves : {false, true}) {
        if (delay_moves && same_delay) continue;
        Scene one = scene;
        if (delay_moves) one.sources.front().signal_delay_ms = planned(sounds);
        const HangFit fit(std::move(one), work);
        const double misfit = fit.misfit();
        if (misfit < best.misfit) best = {sounds, delay_moves, fit.believable(), misfit};
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

// Misfits of every circuit's takes under every circuit's boxes, each worked out once, when it is asked for.
class Rivals {
public:
    Rivals(const Input& input, const std::vector<const TakenReading*>& direct, const std::vector<CircuitState>& circuits)
        : input_(input), circuits_(circuits), own_(circuits.size()), glanced_(circuits.size() * circuits.size()), known_(glanced_.size()) {
        for (std::size_t c = 0; c < circuits.size(); ++c)
            std::ranges::copy_if(direct, std::back_inserter(own_[c]),
                                 [&](const TakenReading* taken) { return taken->circuit == circuits[c].circuit; });
    }

    [[nodiscard]] bool heard(std::size_t c) const { return circuits_[c].sounds == Sounds::heard; }

    // A glance does not rule it out.
    bool possible(std::size_t circuit, std::size_t sounds) {
        if (circuit == sounds) return true;
        const std::string &id = circuits_[circuit].circuit, &other = circuits_[sounds].circuit;
        if (arrival_mismatch_ms(input_, own_[circuit], other) > arrival_mismatch_ms(input_, own_[circuit], id) + hopeless_ms) return false;
        return glance(circuit, circuit).misfit - glance(circuit, sounds).misfit > hopeless_log_odds;
    }

    // Its own box explains what is heard: as it was planned, or else hung a little differently.
    bool explained(std::size_t circuit) { return glance(circuit, circuit).believable || of(circuit, circuit).believable; }

    const Hypothesis& of(std::size_t circuit, std::size_t sounds) {
        std::optional<Hypothesis>& known = known_[circuit * circuits_.size() + sounds];
        const std::string &id = circuits_[circuit].circuit, &other = circuits_[sounds].circuit;
        if (!known) known = possible(circuit, sounds) ? best_delay(input_, own_[circuit], id, other, HangFit::Work::compare) : Hypothesis{other};
        return *known;
    }

    // Two circuits that feed one box give, gain and delay apart, the same readings at every place, whatever that box is.
    [[nodiscard]] bool may_be_one_box(std::size_t one, std::size_t other) const {
        std::vector<double> levels, arrivals;
        for (const TakenReading* a : own_[one])
            for (const TakenReading* b : own_[other]) {
                if (a->position != b->position) continue;
                if (a->reading.aim_band_db && b->reading.aim_band_db)
                    levels.push_back(a->reading.aim_band_db->value - b->reading.aim_band_db->value);
                if (a->reading.arrival_s && b->reading.arrival_s)
                    arrivals.push_back(1e3 * (a->reading.arrival_s->value - b->reading.arrival_s->value));
            }
        return steady(std::move(levels), same_box_db) && steady(std::move(arrivals), same_box_ms);
    }

    // Log-likelihood that `sounds` is heard over the planned patch; positive speaks for it.
    double odds(std::size_t circuit, std::size_t sounds) { return of(circuit, circuit).misfit - of(circuit, sounds).misfit; }

private:
    // Half of the differences lie this near to their middle; too few of them contradict nothing.
    static bool steady(std::vector<double> differences, double within) {
        if (differences.size() < enough_places) return true;
        const double middle = median(differences);
        for (double& one : differences) one = std::abs(one - middle);
        return median(std::move(differences)) < within;
    }

    const Hypothesis& glance(std::size_t circuit, std::size_t sounds) {
        std::optional<Hypothesis>& known = glanced_[circuit * circuits_.size() + sounds];
        if (!known) known = best_delay(input_, own_[circuit], circuits_[circuit].circuit, circuits_[sounds].circuit, HangFit::Work::glance);
        return *known;
    }

    const Input& input_;
    const std::vector<CircuitState>& circuits_;
    std::vector<std::vector<const TakenReading*>> own_;
    std::vector<std::optional<Hypothesis>> glanced_, known_;
};

// How much speaks for two circuits being crossed over both hanging on their own cables.
double crossed_odds(Rivals& rivals, std::size_t one, std::size_t other) { return rivals.odds(one, other) + rivals.odds(other, one) + wrong_patch_log_odds; }

// How much speaks for `sounds` on the cable of `circuit`, all that is known of both taken together: of a crossed pair both
// takes together have to tell it, and a box whose own circuit is heard from it is not lightly given a second one.
double joint_odds(Rivals& rivals, std::size_t circuit, std::size_t sounds) {
    const double alone = rivals.odds(circuit, sounds);
    if (!rivals.heard(sounds)) return alone + wrong_patch_log_odds;
    const double doubled = rivals.may_be_one_box(circuit, sounds) ? alone + doubled_log_odds : -std::numeric_limits<double>::infinity();
    const double back = rivals.odds(sounds, circuit);
    const double crossed = std::min(alone, back) > half_told_log_odds ? crossed_odds(rivals, circuit, sounds) : -std::numeric_limits<double>::infinity();
    return std::max(doubled, crossed);
}

}  // namespace

void find_patches(const Input& input, const std::vector<const TakenReading*>& direct, std::vector<CircuitState>& circuits) {
    Rivals rivals(input, direct, circuits);
    for (std::size_t c = 0; c < circuits.size(); ++c) {
        CircuitState& state = circuits[c];
        if (!rivals.heard(c)) continue;
        std::vector<std::size_t> possible;
        for (std::size_t other = 0; other < circuits.size(); ++other)
            if (other != c && rivals.possible(c, other)) possible.push_back(other);
        // What its own box does not explain is no pass, even if no other one explains it better.
        state.patch_clear = rivals.explained(c);
        state.fits_nothing = !state.patch_clear && std::ranges::none_of(possible, [&](std::size_t other) { return rivals.of(c, other).believable; });
        if (possible.empty() || !std::isfinite(rivals.of(c, c).misfit)) continue;
        std::size_t best = c;
        state.patch_odds = 0.0;
        for (const std::size_t other : possible) {
            if (!std::isfinite(rivals.of(c, other).misfit)) continue;
            const double odds = joint_odds(rivals, c, other);
            if (odds <= state.patch_odds) continue;
            state.patch_odds = odds;
            best = other;
        }
        if (best == c) {
            // Two boxes they are, but this one fits another's place far better than its own, or the two would fit each other's
            // better than their own: no pass on that.
            for (const std::size_t other : possible) {
                if (!rivals.heard(other) || !std::isfinite(rivals.of(c, other).misfit)) continue;
                if (rivals.odds(c, other) + doubled_log_odds > 0.0 || crossed_odds(rivals, c, other) > 0.0) state.patch_clear = false;
            }
            continue;
        }
        // Of a crossed pair one that explains its takes is enough: the other's places may hear little but the room.
        const bool crossed = rivals.heard(best) && rivals.odds(c, best) > 0.0 && rivals.odds(best, c) > 0.0;
        const bool believable = rivals.of(c, best).believable || (crossed && rivals.of(best, c).believable);
        state.patch_clear = state.patch_odds >= clear_log_odds && believable;
        if (!state.patch_clear) continue;
        state.drives = circuits[best].circuit;
        state.delay_moves = rivals.of(c, best).delay_moves;
    }
}

}  // namespace proofwalk::verify
