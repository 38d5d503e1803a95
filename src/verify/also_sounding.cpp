// Two boxes sounding where one should: a second box leaves its own arrival in every impulse response, at a time and a level
// that follow from where it stands. Either it is the first one there, or a later peak. One such peak may be a wall; the
// same box explaining peaks all over the room is not.
#include <algorithm>
#include <cmath>

#include "acoustics/air.hpp"
#include "acoustics/geometry.hpp"
#include "units/convert.hpp"
#include "verify/case_file.hpp"

namespace proofwalk::verify {
namespace {

constexpr double told_apart_ms = 0.4, latest_ms = 60.0;  // later than the first arrival: a peak of its own, and a listed one
constexpr double quietest_db = -18.0;                    // beside the own box
constexpr double drowned_db = 10.0;                      // from here on the own box may go unheard under the second
constexpr double time_tolerance_ms = 0.3, level_tolerance_db = 6.0;
constexpr double own_tolerance_ms = 0.5;                 // of a box's own arrival about its plan
// Share of peaks that are listed, the strong and the weak; and how often an arrival is that of another box by chance.
constexpr double strong_found = 0.85, weak_found = 0.6, weak_db = -10.0, chance_of_arrival = 0.02;
constexpr double doubled_log_odds = -6.0;                // before any take
constexpr double clear_log_odds = 6.0;
constexpr int least_places = 4, least_of_own = 2;
constexpr double nearby_ms = 5.0;                        // about a peak, where the density of others is taken

struct Ways {
    double apart_ms = 0.0, apart_db = 0.0;  // second box less own box
    double off_plan_ms = 0.0;               // first arrival less that of the own box as planned
};

// How likely a peak stands by chance within the tolerance of a moment after the first arrival.
double by_chance(const signal::Reading& reading, double after_ms) {
    double near = 0.0;
    for (const signal::Reflection& peak : reading.reflections)
        if (std::abs(1e3 * peak.after_s - after_ms) < nearby_ms) near += 1.0;
    return std::clamp(near * time_tolerance_ms / nearby_ms, 0.02, 0.6);
}

bool peak_at(const signal::Reading& reading, double after_ms, double level_db) {
    return std::ranges::any_of(reading.reflections, [&](const signal::Reflection& peak) {
        return std::abs(1e3 * peak.after_s - after_ms) < time_tolerance_ms && std::abs(peak.level_db - level_db) < level_tolerance_db;
    });
}

class Doubles {
public:
    explicit Doubles(const Input& input) : input_(input), air_(input.air.value_or(input.plan.air)) {}

    // Log-likelihood of the second box sounding too over its silence; too few places give nothing away.
    [[nodiscard]] double odds(const std::vector<const TakenReading*>& readings, const std::string& circuit, const std::string& second) const {
        double odds = doubled_log_odds;
        int places = 0, found = 0, own_heard = 0;
        for (const TakenReading* taken : readings) {
            const signal::Reading& reading = taken->reading;
            if (taken->circuit != circuit || !reading.arrival_s || !reading.absolute || reading.flags.has(Flag::no_signal)) continue;
            const Ways ways = ways_to(circuit, second, *taken);
            const bool second_first = ways.apart_ms < 0.0;
            const bool by_own = std::abs(ways.off_plan_ms) < own_tolerance_ms, by_second = std::abs(ways.off_plan_ms - ways.apart_ms) < own_tolerance_ms;
            if (by_own && std::abs(ways.apart_ms) > 2.0 * own_tolerance_ms) ++own_heard;
            if (std::abs(ways.apart_ms) < told_apart_ms || ways.apart_db < quietest_db) continue;
            // The first arrival is that of the nearer of the two, or of the one that drowns it; else the second follows as a peak.
            const bool drowns = !second_first && ways.apart_db > drowned_db;
            const bool follows = !second_first && by_own && ways.apart_ms < latest_ms && peak_at(reading, ways.apart_ms, ways.apart_db);
            const bool arrives = by_second && (second_first || drowns);
            if (!arrives && !follows && (drowns || ways.apart_ms > latest_ms)) continue;
            const double when_there = ways.apart_db > weak_db ? strong_found : weak_found;
            const double chance = second_first || arrives ? chance_of_arrival : by_chance(reading, ways.apart_ms);
            const bool there = arrives || follows;
            odds += there ? std::log(when_there / chance) : std::log((1.0 - when_there) / (1.0 - chance));
            ++places;
            found += there ? 1 : 0;
        }
        return places >= least_places && found >= least_places && own_heard >= least_of_own ? odds : -1e9;
    }

private:
    [[nodiscard]] Ways ways_to(const std::string& circuit, const std::string& second, const TakenReading& taken) const {
        const plan::Plan& plan = input_.plan;
        const plan::Box &own = *plan.boxes_of(circuit).front(), &other = *plan.boxes_of(second).front();
        const Vec3 at = plan.position(taken.position)->at;
        const double per_metre_ms = 1e3 / acoustics::speed_of_sound(air_).value;
        const auto level = [&](const plan::Box& box) {
            const auto seen = acoustics::bearing(box.pose(), at);
            const plan::Model& model = plan.model_of(box);
            return model.pattern_loss->loss_db(seen.h_deg, seen.v_deg, model.aim_band_hz.low_hz, model.aim_band_hz.high_hz) -
                   amplitude_db(seen.distance_m);
        };
        const double planned_ms = distance(own.at, at) * per_metre_ms + own.delay_ms + plan.model_of(own).latency_ms +
                                  plan.drive_latency_ms.value_or(0.0);
        return {(distance(other.at, at) - distance(own.at, at)) * per_metre_ms, level(other) - level(own),
                1e3 * taken.reading.arrival_s->value - planned_ms};
    }

    const Input& input_;
    acoustics::Air air_;
};

}  // namespace

void find_doubles(const Input& input, const std::vector<const TakenReading*>& readings, std::vector<CircuitState>& circuits) {
    if (!input.plan.drive_latency_ms) return;  // without it no arrival tells whose it is
    const Doubles doubles(input);
    // Of a crossed pair both takes tell the same story; a wall where a third box would be heard is no better one.
    const std::vector<CircuitState> patched = circuits;
    const auto crossed = [&](const CircuitState& state) {
        return state.drives != state.circuit && state.patch_clear && std::ranges::any_of(patched, [&](const CircuitState& other) {
                   return other.circuit == state.drives && other.drives == state.circuit && other.patch_clear;
               });
    };
    for (CircuitState& state : circuits) {
        if (state.sounds != Sounds::heard || crossed(state)) continue;
        const plan::Model& model = input.plan.model_of(*input.plan.boxes_of(state.circuit).front());
        if (measured_by_full_sound(model)) continue;
        for (const CircuitState& second : circuits) {
            const plan::Box& other = *input.plan.boxes_of(second.circuit).front();
            if (second.circuit == state.circuit || measured_by_full_sound(input.plan.model_of(other))) continue;
            if (doubles.odds(readings, state.circuit, second.circuit) < clear_log_odds) continue;
            state.also_sounding.push_back(second.circuit);
        }
        if (state.also_sounding.empty()) continue;
        state.drives = state.circuit;
        state.patch_clear = true;
        state.fits_nothing = false;
    }
}

}  // namespace proofwalk::verify
