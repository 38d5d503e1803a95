#include "plan/checks.hpp"

#include <algorithm>
#include <array>

namespace proofwalk::plan {
namespace {

constexpr std::array<std::string_view, 11> check_words = {"sounding", "polarity", "response", "level",     "arrival",  "aim-h",
                                                          "aim-v",    "splay",    "spacing",  "crossover", "alignment"};

void need(PlannedCheck& check, const Position* place, std::string_view role, const std::string& subject) {
    if (place == nullptr)
        check.missing.push_back(std::string(role) + " of " + subject);
    else if (std::ranges::find(check.positions, place->id) == check.positions.end())
        check.positions.push_back(place->id);
}

PlannedCheck of_box(CheckKind kind, const Box& box, Band band) {
    PlannedCheck check;
    check.kind = kind;
    check.subject = box.id;
    check.boxes = {box.id};
    check.circuits = {box.circuit};
    check.band_hz = band;
    return check;
}

PlannedCheck sounding(const Plan& plan, const std::string& circuit) {
    PlannedCheck check;
    check.kind = CheckKind::sounding;
    check.subject = circuit;
    check.circuits = {circuit};
    const Position* place = nullptr;
    for (const Box* box : plan.boxes_of(circuit)) {
        const Band range = plan.model_of(*box).range_hz;
        check.band_hz = check.boxes.empty() ? range
                                            : Band{std::min(check.band_hz.low_hz, range.low_hz),
                                                   std::max(check.band_hz.high_hz, range.high_hz)};
        check.boxes.push_back(box->id);
        if (place == nullptr) place = plan.serving(Role::on_axis, box->id);
    }
    // Any take of the circuit will do: its axis where there is one, else the first position that serves one of its boxes.
    for (const Position& other : plan.positions)
        for (const Serve& serve : other.serves)
            if (place == nullptr && std::ranges::find_first_of(serve.boxes, check.boxes) != serve.boxes.end()) place = &other;
    need(check, place, "any position", circuit);
    return check;
}

void add_box_checks(const Plan& plan, const Box& box, std::vector<PlannedCheck>& all) {
    const Model& model = plan.model_of(box);
    const Position* axis = plan.serving(Role::on_axis, box.id);
    for (const CheckKind kind : {CheckKind::polarity, CheckKind::response, CheckKind::level, CheckKind::arrival}) {
        PlannedCheck check = of_box(kind, box, kind == CheckKind::response ? model.range_hz : model.aim_band_hz);
        const Position* place = axis;
        if (place == nullptr && kind == CheckKind::arrival) place = plan.serving(Role::crossover, box.id);
        need(check, place, kind == CheckKind::arrival ? "on-axis or crossover" : "on-axis", box.id);
        all.push_back(check);
    }
    if (model.pattern == Pattern::omni) return;
    const auto aim = [&](CheckKind kind, Role one, Role other) {
        const Position* first = plan.serving(one, box.id);
        const Position* second = plan.serving(other, box.id);
        if (first == nullptr && second == nullptr) return;
        PlannedCheck check = of_box(kind, box, model.aim_band_hz);
        need(check, axis, "on-axis", box.id);
        for (const Position* edge : {first, second})
            if (edge != nullptr) need(check, edge, "edge", box.id);
        all.push_back(check);
    };
    aim(CheckKind::aim_h, Role::left_edge, Role::right_edge);
    aim(CheckKind::aim_v, Role::top_edge, Role::bottom_edge);
}

// Two neighbours of an array on different circuits, with all that any of their arrays asks of them.
struct Pair {
    const Box* first;
    const Box* second;
    const Array* array;  // the first that has them as neighbours
    bool splay = false, spacing = false;
};

std::vector<Pair> pairs(const Plan& plan) {
    std::vector<Pair> all;
    for (const Array& array : plan.arrays) {
        for (std::size_t i = 0; i + 1 < array.boxes.size(); ++i) {
            const Box* first = plan.box(array.boxes[i]);
            const Box* second = plan.box(array.boxes[i + 1]);
            if (first->circuit == second->circuit) continue;
            auto pair = std::ranges::find_if(all, [&](const Pair& known) {
                return (known.first == first && known.second == second) || (known.first == second && known.second == first);
            });
            if (pair == all.end()) pair = all.insert(all.end(), Pair{first, second, &array});
            pair->splay |= array.kind == ArrayKind::coupled || array.kind == ArrayKind::line;
            pair->spacing |= array.kind == ArrayKind::uncoupled || array.kind == ArrayKind::point_destination;
        }
    }
    return all;
}

void add_pair_checks(const Plan& plan, const Pair& pair, std::vector<PlannedCheck>& all) {
    const std::string subject = pair.first->id + "+" + pair.second->id;
    const auto add = [&](CheckKind kind, bool needs_axes) {
        PlannedCheck check;
        check.kind = kind;
        check.subject = subject;
        check.boxes = {pair.first->id, pair.second->id};
        check.circuits = {pair.first->circuit, pair.second->circuit};
        check.array = pair.array->id;
        check.band_hz = pair_band(plan, *pair.array, *pair.first, *pair.second).value_or(plan.model_of(*pair.first).range_hz);
        if (needs_axes)
            for (const Box* box : {pair.first, pair.second}) need(check, plan.serving(Role::on_axis, box->id), "on-axis", box->id);
        need(check, plan.crossover_of(pair.first->id, pair.second->id), "crossover", subject);
        all.push_back(check);
    };
    const auto aims = [&](const Box& box) { return plan.model_of(box).pattern != Pattern::omni; };
    if (pair.splay && aims(*pair.first) && aims(*pair.second)) add(CheckKind::splay, true);
    if (pair.spacing) add(CheckKind::spacing, true);
    add(CheckKind::crossover, false);
    add(CheckKind::alignment, false);
}

std::optional<Band> shared(Band a, Band b) {
    const Band both{std::max(a.low_hz, b.low_hz), std::min(a.high_hz, b.high_hz)};
    if (both.low_hz < both.high_hz) return both;
    return std::nullopt;
}

}  // namespace

std::string_view word(CheckKind kind) { return check_words[static_cast<std::size_t>(kind)]; }

std::optional<CheckKind> check_from_word(std::string_view text) {
    const auto found = std::ranges::find(check_words, text);
    if (found == check_words.end()) return std::nullopt;
    return static_cast<CheckKind>(found - check_words.begin());
}

std::vector<PlannedCheck> checks(const Plan& plan) {
    std::vector<PlannedCheck> all;
    for (const std::string& circuit : plan.circuits()) all.push_back(sounding(plan, circuit));
    for (const Box& box : plan.boxes) add_box_checks(plan, box, all);
    for (const Pair& pair : pairs(plan)) add_pair_checks(plan, pair, all);
    return all;
}

std::optional<Band> pair_band(const Plan& plan, const Array& array, const Box& first, const Box& second) {
    if (array.band_hz) return array.band_hz;
    const Model &one = plan.model_of(first), &two = plan.model_of(second);
    if (const auto aim = shared(one.aim_band_hz, two.aim_band_hz)) return aim;
    return shared(one.range_hz, two.range_hz);
}

}  // namespace proofwalk::plan
