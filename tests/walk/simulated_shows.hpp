// A thousand nights: faults fall on a rig as the odds say, a crew has so many minutes, and what it finds is counted for
// the planned walk and for the walk box by box. A fault matters when harm times audience is at least `least_matter`.
#pragma once

#include <algorithm>
#include <random>
#include <vector>

#include "walk/route/agenda.hpp"

namespace proofwalk::walk::route {

inline constexpr double least_matter = 0.02;

struct Found {
    std::size_t faults = 0, planned = 0, box_by_box = 0;
    [[nodiscard]] double planned_share() const { return faults == 0 ? 1.0 : static_cast<double>(planned) / static_cast<double>(faults); }
    [[nodiscard]] double box_by_box_share() const { return faults == 0 ? 1.0 : static_cast<double>(box_by_box) / static_cast<double>(faults); }
};

inline Found shows_on(const plan::Plan& plan, const Situation& situation, std::size_t shows, unsigned seed) {
    std::vector<plan::PlannedCheck> checks;
    for (const CheckNeeds& needs : needs_of(plan))
        if (!needs.pairs.empty()) checks.push_back(needs.check);
    const std::vector<Stake> stakes = stakes_of(plan, checks, situation.odds);
    const auto unproven = [&](const Agenda& agenda) {
        std::vector<bool> open(checks.size());
        for (std::size_t index = 0; index < checks.size(); ++index)
            open[index] = std::ranges::any_of(agenda.unproven, [&](const Unproven& check) { return check.check == CheckId{checks[index].kind, checks[index].subject}; });
        return open;
    };
    const std::vector<bool> left_by_plan = unproven(agenda(plan, situation)), left_by_boxes = unproven(box_by_box(plan, situation));
    std::mt19937_64 random(seed);
    Found found;
    for (std::size_t show = 0; show < shows; ++show)
        for (std::size_t index = 0; index < checks.size(); ++index) {
            const bool faulty = static_cast<double>(random() >> 11) * 0x1.0p-53 < stakes[index].likelihood;
            if (!faulty || situation.odds.harm_of(checks[index].kind) * stakes[index].people < least_matter) continue;
            ++found.faults;
            if (!left_by_plan[index]) ++found.planned;
            if (!left_by_boxes[index]) ++found.box_by_box;
        }
    return found;
}

}  // namespace proofwalk::walk::route
