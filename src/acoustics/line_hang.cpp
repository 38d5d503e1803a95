#include "acoustics/line_hang.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <random>

#include <fmt/format.h>

#include "acoustics/hang_field.hpp"
#include "units/convert.hpp"

namespace proofwalk::acoustics {
namespace {

std::unexpected<Fault> impossible(std::string reason, std::string remedy) {
    return std::unexpected(Fault{FaultKind::input, "", "", std::move(reason), std::move(remedy)});
}

std::optional<Fault> bad_design(const HangDesign& design) {
    const auto fault = [](std::string reason, std::string remedy) { return Fault{FaultKind::input, "", "", std::move(reason), std::move(remedy)}; };
    if (design.boxes < 1 || design.boxes > 64) return fault(fmt::format("a hang of {} boxes", design.boxes), "give 1 to 64");
    if (!(design.box_height_m > 0.01 && design.box_height_m < 5.0)) return fault(fmt::format("a box height of {:g} m", design.box_height_m), "give the height from joint to joint in metres");
    if (design.box == nullptr) return fault("no pattern is given for the boxes", "give a model");
    if (design.ears.size() < 2) return fault("fewer than two places are to be covered", "give an audience");
    if (design.allowed_tilt_deg.empty() || (design.boxes > 1 && design.allowed_splay_deg.empty())) return fault("no angle is allowed", "give the steps of the hang");
    if (std::ranges::any_of(design.allowed_splay_deg, [](double angle) { return !(angle >= 0.0 && angle <= 30.0); }))
        return fault("a splay step lies outside 0 to 30 degrees", "give the steps as positive angles between neighbours");
    if (!(design.low_hz < design.high_hz)) return fault("the band to be judged is empty", "put the lower frequency first");
    for (const Ear& ear : design.ears)
        if (!(ear.ahead_m > 0.0)) return fault(fmt::format("a place of the audience lies {:g} m ahead: behind or under the hang", ear.ahead_m), "leave it to another box");
    const double lowest = std::ranges::min_element(design.ears, {}, &Ear::height_m)->height_m;
    if (design.trim_m - static_cast<double>(design.boxes) * design.box_height_m < lowest - 1.2)
        return fault(fmt::format("{} boxes of {:g} m hung at {:g} m reach below the floor", design.boxes, design.box_height_m, design.trim_m), "hang it higher or use fewer boxes");
    return std::nullopt;
}

// Angles as indexes into the allowed ones.
struct Choice {
    std::size_t tilt = 0;
    std::vector<std::size_t> splay;
    friend bool operator==(const Choice&, const Choice&) = default;
};

// A hang with the sound of its boxes summed from the top down to each, so that a change below reuses what is above.
class Search {
public:
    explicit Search(const HangDesign& design) : model_(design), splays_(design.allowed_splay_deg), tilts_(design.allowed_tilt_deg) {
        std::ranges::sort(splays_);
        std::ranges::sort(tilts_);
        above_.assign(design.boxes + 1, Field(model_.ears()));
        places_.resize(design.boxes);
    }

    // Unevenness of a choice whose boxes above `from` are those of the last complete one.
    double score(const Choice& choice, std::size_t from) {
        const std::size_t boxes = places_.size();
        double tilt = from == 0 ? tilts_[choice.tilt] : places_[from - 1].tilt_deg;
        for (std::size_t box = from; box < boxes; ++box) {
            if (box > 0) tilt -= splays_[choice.splay[box - 1]];
            places_[box] = model_.place_below(box == 0 ? nullptr : &places_[box - 1], tilt);
            above_[box + 1] = above_[box];
            model_.add(places_[box], above_[box + 1]);
        }
        return model_.unevenness_db(above_[boxes]);
    }

    // Improves a choice as long as a single change or a pair of opposite changes helps; returns its unevenness.
    double descend(Choice& choice) {
        double best = score(choice, 0);
        for (bool better = true; better;) {
            better = try_singles(choice, best);
            if (!better) better = try_pairs(choice, best);
        }
        return best;
    }

    [[nodiscard]] std::vector<Choice> smooth_starts() const {
        const std::size_t steps = places_.size() - 1;
        std::vector<Choice> starts;
        for (std::size_t tilt = 0; tilt < tilts_.size(); tilt += std::max<std::size_t>(1, tilts_.size() / 5))
            for (const double power : {0.0, 1.0, 2.0})  // constant, spiral, and steeper towards the bottom
                for (const double share : {0.25, 0.5, 0.9}) {
                    Choice start{tilt, std::vector<std::size_t>(steps)};
                    for (std::size_t i = 0; i < steps; ++i) {
                        const double wanted = share * splays_.back() * std::pow(static_cast<double>(i + 1) / static_cast<double>(steps), power);
                        start.splay[i] = nearest(wanted);
                    }
                    starts.push_back(start);
                }
        return starts;
    }

    [[nodiscard]] HangAngles angles(const Choice& choice) const {
        HangAngles found{tilts_[choice.tilt], {}};
        for (const std::size_t step : choice.splay) found.splay_deg.push_back(splays_[step]);
        return found;
    }
    [[nodiscard]] std::size_t splay_count() const { return splays_.size(); }
    [[nodiscard]] std::size_t tilt_count() const { return tilts_.size(); }

private:
    [[nodiscard]] std::size_t nearest(double splay) const {
        std::size_t best = 0;
        for (std::size_t i = 1; i < splays_.size(); ++i)
            if (std::abs(splays_[i] - splay) < std::abs(splays_[best] - splay)) best = i;
        return best;
    }

    // Takes a change when it helps, else restores the sums below it.
    bool keep_if_better(Choice& choice, const Choice& changed, std::size_t from, double& best) {
        const double now = score(changed, from);
        if (now < best - 1e-9) {
            best = now;
            choice = changed;
            return true;
        }
        return false;
    }

    bool try_singles(Choice& choice, double& best) {
        bool better = false;
        // From the bottom up: the lower the change, the fewer boxes are reckoned anew.
        for (std::size_t i = choice.splay.size(); i-- > 0;) {
            const std::size_t box = i + 1;
            for (std::size_t step = 0; step < splays_.size(); ++step) {
                if (step == choice.splay[i]) continue;
                Choice changed = choice;
                changed.splay[i] = step;
                better |= keep_if_better(choice, changed, box, best);
            }
            score(choice, box);
        }
        for (std::size_t tilt = 0; tilt < tilts_.size(); ++tilt) {
            if (tilt == choice.tilt) continue;
            Choice changed = choice;
            changed.tilt = tilt;
            better |= keep_if_better(choice, changed, 0, best);
        }
        score(choice, 0);
        return better;
    }

    // One step more here and one less there keeps everything below where it is; also the frame against the first steps.
    bool try_pairs(Choice& choice, double& best) {
        for (std::size_t i = choice.splay.size(); i-- > 0;)
            for (std::size_t j = i + 1; j < choice.splay.size() && j <= i + 4; ++j)
                for (const int up : {1, -1}) {
                    Choice changed = choice;
                    if (!shift(changed.splay[i], up, splays_.size()) || !shift(changed.splay[j], -up, splays_.size())) continue;
                    if (keep_if_better(choice, changed, i + 1, best)) return true;
                    score(choice, i + 1);
                }
        for (std::size_t i = 0; i < choice.splay.size(); ++i)
            for (const int up : {1, -1}) {
                Choice changed = choice;
                if (!shift(changed.tilt, up, tilts_.size()) || !shift(changed.splay[i], up, splays_.size())) continue;
                if (keep_if_better(choice, changed, 0, best)) return true;
            }
        score(choice, 0);
        return false;
    }

    static bool shift(std::size_t& index, int by, std::size_t count) {
        if ((by < 0 && index == 0) || (by > 0 && index + 1 >= count)) return false;
        index = by > 0 ? index + 1 : index - 1;
        return true;
    }

    HangModel model_;
    std::vector<double> splays_, tilts_;
    std::vector<Field> above_;  // [n]: sum of the n uppermost boxes
    std::vector<HangModel::BoxPlace> places_;
};

Result<HangFigures> figures_of(const HangDesign& design, const HangAngles& angles) {
    const HangModel model(design);
    std::vector<HangModel::BoxPlace> places;
    Field field(model.ears());
    double tilt = angles.tilt_deg;
    for (std::size_t box = 0; box < design.boxes; ++box) {
        if (box > 0) tilt -= angles.splay_deg[box - 1];
        places.push_back(model.place_below(places.empty() ? nullptr : &places.back(), tilt));
        model.add(places.back(), field);
    }
    return model.figures(places, field);
}

}  // namespace

Result<HangFigures> hang_figures(const HangDesign& design, const HangAngles& angles) {
    if (const auto bad = bad_design(design)) return std::unexpected(*bad);
    if (angles.splay_deg.size() + 1 != design.boxes)
        return impossible(fmt::format("{} splay angles are given for {} boxes", angles.splay_deg.size(), design.boxes), fmt::format("give {}", design.boxes - 1));
    return figures_of(design, angles);
}

Result<HangAngles> optimised_hang(const HangDesign& design) {
    if (const auto bad = bad_design(design)) return std::unexpected(*bad);
    constexpr std::size_t descents = 4, shaken = 6;
    Search search(design);
    std::vector<std::pair<double, Choice>> starts;
    for (const Choice& start : search.smooth_starts()) starts.emplace_back(search.score(start, 0), start);
    std::ranges::sort(starts, {}, &std::pair<double, Choice>::first);
    double best = 1e9;
    Choice chosen;
    const auto take = [&](Choice choice) {
        const double found = search.descend(choice);
        if (found < best) {
            best = found;
            chosen = choice;
        }
    };
    for (std::size_t i = 0; i < std::min(descents, starts.size()); ++i) take(starts[i].second);
    std::mt19937 random(1);  // the same hang always gets the same answer
    for (std::size_t i = 0; i < shaken; ++i) {
        Choice choice = chosen;
        for (int change = 0; change < 3 && !choice.splay.empty(); ++change) choice.splay[random() % choice.splay.size()] = random() % search.splay_count();
        take(choice);
    }
    return search.angles(chosen);
}

Result<HangAngles> exhaustive_hang(const HangDesign& design) {
    if (const auto bad = bad_design(design)) return std::unexpected(*bad);
    const double combinations = static_cast<double>(design.allowed_tilt_deg.size()) *
                                std::pow(static_cast<double>(std::max<std::size_t>(design.allowed_splay_deg.size(), 1)), static_cast<double>(design.boxes - 1));
    if (combinations > 2e6) return impossible(fmt::format("{:.0f} combinations are too many to try", combinations), "allow fewer steps or boxes");
    Search search(design);
    Choice now{0, std::vector<std::size_t>(design.boxes - 1, 0)}, chosen = now;
    double best = search.score(now, 0);
    // Counts through the combinations with the lowest box fastest, so most of the hang is kept from one to the next.
    for (;;) {
        std::size_t from = design.boxes;
        for (std::size_t i = now.splay.size(); i-- > 0;) {
            from = i + 1;
            if (++now.splay[i] < search.splay_count()) break;
            now.splay[i] = 0;
            from = 0;
        }
        if (from == 0 || now.splay.empty()) {
            if (++now.tilt == search.tilt_count()) return search.angles(chosen);
            from = 0;
        }
        const double found = search.score(now, from);
        if (found < best) {
            best = found;
            chosen = now;
        }
    }
}

Result<std::vector<HangCircuit>> hang_circuits(const HangDesign& design, const HangAngles& angles, std::size_t boxes_per_circuit) {
    if (boxes_per_circuit == 0) return impossible("a circuit of no boxes", "give one or more boxes a circuit");
    const auto whole = hang_figures(design, angles);
    if (!whole) return std::unexpected(whole.error());
    HangDesign treble = design;
    treble.low_hz = 2000.0;
    treble.high_hz = 8000.0;
    const HangModel model(treble);
    std::vector<HangCircuit> circuits;
    std::vector<std::vector<double>> levels;
    for (std::size_t first = 0; first < design.boxes; first += boxes_per_circuit) {
        HangCircuit circuit;
        circuit.first = first;
        circuit.last = std::min(first + boxes_per_circuit, design.boxes) - 1;
        Field field(model.ears());
        std::vector<HangModel::BoxPlace> places;
        const double count = static_cast<double>(circuit.last - first + 1);
        for (std::size_t box = first; box <= circuit.last; ++box) {
            HangModel::BoxPlace place;
            place.tilt_deg = whole->box_tilt_deg[box];
            place.ahead_m = whole->box_ahead_m[box];
            place.height_m = whole->box_height_m[box];
            model.add(place, field);
            places.push_back(place);
            circuit.tilt_deg += place.tilt_deg / count;
            circuit.ahead_m += place.ahead_m / count;
            circuit.height_m += place.height_m / count;
        }
        levels.push_back(model.figures(places, field).level_db);
        double nearest = 1e9;
        for (std::size_t ear = 0; ear < design.ears.size(); ++ear) {
            const double towards = degrees(std::atan2(design.ears[ear].height_m - circuit.height_m, design.ears[ear].ahead_m - circuit.ahead_m));
            if (std::abs(towards - circuit.tilt_deg) < nearest) {
                nearest = std::abs(towards - circuit.tilt_deg);
                circuit.ear = ear;
            }
        }
        circuits.push_back(circuit);
    }
    for (std::size_t i = 0; i + 1 < circuits.size(); ++i) {
        // Between the two axes, where the levels are nearest to each other.
        const auto [low, high] = std::minmax(circuits[i].ear, circuits[i + 1].ear);
        double nearest = 1e9;
        for (std::size_t ear = low; ear <= high; ++ear)
            if (const double apart = std::abs(levels[i][ear] - levels[i + 1][ear]); apart < nearest) {
                nearest = apart;
                circuits[i].join_ear = ear;
            }
    }
    return circuits;
}

}  // namespace proofwalk::acoustics
