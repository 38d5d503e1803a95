#include "walk/route/coverage.hpp"

#include <algorithm>

namespace proofwalk::walk::route {
namespace {

constexpr std::size_t most_together = 32;  // circuits of one take

void add(std::vector<Pair>& pairs, Pair pair) {
    if (std::ranges::find(pairs, pair) == pairs.end()) pairs.push_back(std::move(pair));
}

std::vector<Pair> pairs_of(const plan::Plan& plan, const plan::PlannedCheck& check) {
    std::vector<Pair> pairs;
    if (!check.missing.empty()) return pairs;
    if (check.kind == plan::CheckKind::sounding) return {{check.subject, ""}};
    const bool of_pair = check.kind == plan::CheckKind::splay || check.kind == plan::CheckKind::spacing;
    for (const std::string& position : check.positions)
        for (const std::string& box : check.boxes) {
            const plan::Position* own_axis = plan.serving(plan::Role::on_axis, box);
            const plan::Position* crossover = of_pair ? plan.crossover_of(check.boxes.front(), check.boxes.back()) : nullptr;
            // On the other box's axis a box of a pair is not asked for.
            const bool wanted = !of_pair || (own_axis != nullptr && own_axis->id == position) ||
                                (crossover != nullptr && crossover->id == position);
            if (wanted) add(pairs, {plan.box(box)->circuit, position});
        }
    return pairs;
}

}  // namespace

std::vector<CheckNeeds> needs_of(const plan::Plan& plan) {
    std::vector<CheckNeeds> all;
    for (plan::PlannedCheck& check : plan::checks(plan)) {
        CheckNeeds needs{std::move(check), {}};
        needs.pairs = pairs_of(plan, needs.check);
        all.push_back(std::move(needs));
    }
    return all;
}

std::vector<std::vector<std::string>> sounding_together(const plan::Plan& plan) {
    struct Set {
        std::vector<std::string> circuits;
        std::vector<int> outputs;  // none: its circuit sounds alone
        plan::Band range;
    };
    std::vector<Set> sets;
    for (const std::string& circuit : plan.circuits()) {
        const auto boxes = plan.boxes_of(circuit);
        const plan::Band range = plan.model_of(*boxes.front()).range_hz;
        const auto output = boxes.front()->output;
        const auto alike = [&](const plan::Box* box) { return box->output == output && plan.model_of(*box).range_hz == range; };
        const bool joins = output && std::ranges::all_of(boxes, alike);
        const auto set = std::ranges::find_if(sets, [&](const Set& other) {
            return joins && !other.outputs.empty() && other.range == range && other.circuits.size() < most_together &&
                   std::ranges::find(other.outputs, *output) == other.outputs.end();
        });
        Set& into = set == sets.end() ? sets.emplace_back(Set{{}, {}, range}) : *set;
        into.circuits.push_back(circuit);
        if (joins) into.outputs.push_back(*output);
    }
    std::vector<std::vector<std::string>> together;
    for (Set& set : sets) together.push_back(std::move(set.circuits));
    return together;
}

}  // namespace proofwalk::walk::route
