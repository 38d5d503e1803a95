#include "walk/route/coverage.hpp"

#include <algorithm>

namespace proofwalk::walk::route {
namespace {

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

}  // namespace proofwalk::walk::route
