// The response check: is a driver or a band missing? Octave-wide deviation in third-octave steps after the mean is taken out.
#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "units/convert.hpp"
#include "verify/case_file.hpp"
#include "verify/phrases.hpp"
#include "verify/voice.hpp"

namespace proofwalk::verify {
namespace {

constexpr double box_ripple_u_db = 0.5;     // of an octave of a healthy box, unit to unit
constexpr double turned_away = 0.3;         // of half the coverage: what is heard on the planned axis is not the axis
constexpr double driver_missing_db = 10.0;  // a drop that only a dead driver makes

struct Octave {
    std::size_t middle = 0;
    double off_db = 0.0, u_db = 0.0;
};

std::vector<Octave> octaves(const Shape& shape) {
    std::vector<Octave> found;
    for (std::size_t band = 1; band + 1 < band_count; ++band) {
        if (!shape.db.has(band - 1) || !shape.db.has(band) || !shape.db.has(band + 1)) continue;
        double sum = 0.0, variance = 0.0;
        for (std::size_t one = band - 1; one <= band + 1; ++one) {
            sum += shape.db[one];
            variance += shape.u_db[one] * shape.u_db[one];
        }
        found.push_back({band, sum / 3.0, std::hypot(std::sqrt(variance) / 3.0, box_ripple_u_db)});
    }
    return found;
}

std::string band_text(std::size_t band) {
    const double hz = nominal_hz[band];
    return hz >= 1000.0 ? fmt::format("{:g} kHz", hz / 1000.0) : fmt::format("{:g} Hz", hz);
}

// A driver can only take away: of the two sides of the largest step the quieter one is missing.
struct Missing {
    bool high = false, low = false;
    double by_db = 0.0;
    std::size_t from = 0;  // first band of the upper side
};

Missing missing_driver(const std::vector<Octave>& octaves) {
    Missing missing;
    for (std::size_t split = 2; split + 2 <= octaves.size(); ++split) {
        double below = 0.0, above = 0.0;
        for (std::size_t i = 0; i < octaves.size(); ++i) (i < split ? below : above) += octaves[i].off_db;
        const double step = above / static_cast<double>(octaves.size() - split) - below / static_cast<double>(split);
        if (std::abs(step) <= missing.by_db) continue;
        missing = {step < 0.0, step > 0.0, std::abs(step), octaves[split].middle};
    }
    return missing;
}

// Other boxes of the model that are heard, whatever cable feeds them, and that have all their drivers.
std::vector<Voice> siblings(const CaseFile& file, const plan::Box& box) {
    std::vector<Voice> others;
    for (const plan::Box& other : file.input.plan.boxes) {
        if (other.model != box.model || other.circuit == box.circuit) continue;
        if (file.input.plan.boxes_of(other.circuit).front() != &other) continue;
        const auto heard = std::ranges::find_if(file.circuits, [&](const CircuitState& state) {
            return state.sounds == Sounds::heard && state.drives == other.circuit && state.also_sounding.empty() && state.patch_clear;
        });
        if (heard == file.circuits.end() || heard->missing_db >= driver_missing_db) continue;
        if (auto voice = voice_of(file, other, heard->circuit)) others.push_back(std::move(*voice));
    }
    return others;
}

bool points_elsewhere(const CaseFile& file, const plan::Box& box) {
    const plan::Model& model = file.input.plan.model_of(box);
    if (!file.fit || model.pattern != plan::Pattern::beam) return false;
    const auto source = file.fit->scene().source_of_circuit(box.circuit);
    if (!source) return false;
    const auto turned = [&](Figure figure) {
        return std::abs(file.fit->quantity([&](const HangFit::State& state) { return state.figure(*source, figure); }).value);
    };
    return turned(Figure::pan_deg) > 0.5 * turned_away * model.coverage_h_deg ||
           turned(Figure::tilt_deg) > 0.5 * turned_away * model.coverage_v_deg;
}

}  // namespace

void find_missing_treble(CaseFile& file) {
    for (CircuitState& state : file.circuits) {
        if (state.sounds != Sounds::heard) continue;
        const plan::Box& box = *file.input.plan.boxes_of(state.drives).front();
        const auto voice = voice_of(file, box, state.circuit);
        if (!voice) continue;
        const Missing missing = missing_driver(octaves(deviation(file, *voice, {})));
        state.missing_db = missing.by_db;
        state.no_treble = missing.high && missing.by_db >= driver_missing_db;
    }
}

CheckResult judge_response(const CaseFile& file, const plan::PlannedCheck& check) {
    if (auto early = without_grounds(file, check)) return *early;
    CheckResult result = blank(file, check);
    result.verdict = Verdict::unsure;
    const plan::Box& box = *file.input.plan.box(check.boxes.front());
    const auto own = voice_of(file, box, box.circuit);
    if (!own) {
        result.says = "nothing of it is heard on its axis";
        return result;
    }
    std::vector<Voice> others = siblings(file, box);
    const bool by_siblings = others.size() >= 2;
    if (!by_siblings) others.clear();
    std::vector<Octave> all = octaves(deviation(file, *own, others));
    if (all.empty()) {
        result.says = "its range holds no whole octave";
        return result;
    }
    double mean = 0.0;
    for (const Octave& octave : all) mean += octave.off_db / static_cast<double>(all.size());
    for (Octave& octave : all) octave.off_db -= mean;
    const Octave worst = *std::ranges::max_element(all, {}, [](const Octave& octave) { return std::abs(octave.off_db); });
    result.value = worst.off_db;
    result.uncertainty = coverage_factor(file.rules().confidence) * worst.u_db;
    result.budget = {{"room and noise", std::sqrt(std::max(0.0, worst.u_db * worst.u_db - box_ripple_u_db * box_ripple_u_db))},
                     {"difference from box to box", box_ripple_u_db}};
    // All bands together: octaves three steps apart share no third octave; of the three such rows the least likely counts.
    double probability = 1.0, surest_bad = 0.0;
    for (std::size_t start = 0; start < std::min<std::size_t>(3, all.size()); ++start) {
        double together = 1.0;
        for (std::size_t i = start; i < all.size(); i += 3)
            together *= probability_of_conformity(all[i].off_db, all[i].u_db, *result.tolerance);
        probability = std::min(probability, together);
    }
    for (const Octave& octave : all)
        surest_bad = std::max(surest_bad, 1.0 - probability_of_conformity(octave.off_db, octave.u_db, *result.tolerance));
    result.probability = probability;
    const bool guarded = file.rules().decision == plan::Decision::guarded;
    if (!guarded)
        result.verdict = std::abs(worst.off_db) <= *result.tolerance ? Verdict::pass : Verdict::fail;
    else if (probability >= file.rules().confidence)
        result.verdict = Verdict::pass;
    else if (surest_bad >= file.rules().confidence)
        result.verdict = Verdict::fail;
    const Missing missing = missing_driver(all);
    if (result.verdict == Verdict::fail && missing.by_db < driver_missing_db && points_elsewhere(file, box)) {
        result.verdict = Verdict::unsure;
        result.says = fmt::format("it points elsewhere, so the position on its planned axis does not tell its {}",
                                  worst.off_db < 0.0 ? "treble" : "response");
        result.advice = fmt::format("set the aim of {} right first, then take again", box.id);
        return result;
    }
    const std::string against = by_siblings ? "its siblings" : "its model";
    result.says = fmt::format("{} {} around {} against {}", level_text(worst.off_db), worst.off_db > 0.0 ? "too loud" : "too quiet",
                              band_text(worst.middle), against);
    if (result.verdict == Verdict::fail && missing.by_db >= driver_missing_db) {
        result.says = fmt::format("{} weak by {:.0f} dB {} {} against {}: likely a dead {} driver",
                                  missing.high ? "high" : "low", missing.by_db, missing.high ? "above" : "below",
                                  band_text(missing.from), against, missing.high ? "high" : "low");
        result.advice = fmt::format("check the {} driver of {}, its amplifier channel, crossover and cable, then take again",
                                    missing.high ? "high" : "low", box.id);
    } else if (result.verdict == Verdict::fail) {
        result.advice = fmt::format("check equaliser, drivers and grille of {} around {}, then take again", box.id,
                                    band_text(worst.middle));
    } else if (result.verdict == Verdict::unsure) {
        result.says += "; the room hides more than the tolerance allows";
        result.advice = fmt::format("take {} on its axis again: nearer, so that the room counts less", box.id);
    }
    return result;
}

}  // namespace proofwalk::verify
