// A thousand simulated shows against the clock, the planned walk and the walk box by box side by side: figures for docs/shortest_walk.md.
// thousand_shows [SHOWS] [MINUTES] [overlap] [PEOPLE]; the same arguments print the same table. Not part of the tests.

#include <fmt/format.h>

#include <cstdlib>
#include <string_view>

#include "plan/read.hpp"
#include "walk/generated_rig.hpp"
#include "walk/simulated_shows.hpp"

int main(int count, char** arguments) {
    using namespace proofwalk;
    using namespace proofwalk::walk::route;
    const std::size_t shows = count > 1 ? static_cast<std::size_t>(std::atoi(arguments[1])) : 1000;
    Situation situation;
    situation.minutes = count > 2 ? std::atof(arguments[2]) : 12.0;
    situation.crew.overlap = count > 3 && std::string_view(arguments[3]) == "overlap";
    if (situation.crew.overlap) situation.crew.mute_change_s = 0.0;
    situation.crew.people = count > 4 ? std::atoi(arguments[4]) : 1;
    const auto demo = plan::load(std::string(PROOFWALK_SOURCE_DIR) + "/fixtures/demo/plan.toml");
    if (!demo) {
        fmt::print(stderr, "{}\n", sentence(demo.error().front()));
        return 2;
    }
    const std::vector<std::pair<std::string, plan::Plan>> rigs = {{"demo", demo->plan},
                                                                  {"rig 1", walk::generated_rig(1, 3, 4)},
                                                                  {"rig 2", walk::generated_rig(2, 3, 4)},
                                                                  {"rig 3", walk::generated_rig(3, 2, 4)},
                                                                  {"rig 4", walk::generated_rig(4, 2, 5)}};
    fmt::print("{} shows, {} minutes, {} mics, {} people, {}; in brackets weighted by harm and audience\n", shows, *situation.minutes, situation.crew.mics,
               situation.crew.people, situation.crew.overlap ? "outputs driven directly, sweeps overlapped" : "unmuted by hand");
    fmt::print("{:8} {:>5} {:>9} {:>7} {:>17} {:>17} {:>14}\n", "rig", "boxes", "positions", "faults", "planned walk", "box by box", "whole walk s");
    Found all;
    for (std::size_t rig = 0; rig < rigs.size(); ++rig) {
        const auto& [name, plan] = rigs[rig];
        Situation whole = situation;
        whole.minutes.reset();
        const Found found = shows_on(plan, situation, shows / rigs.size(), static_cast<unsigned>(rig + 1));
        all += found;
        fmt::print("{:8} {:5} {:9} {:7} {:8.1f} % ({:4.1f}) {:8.1f} % ({:4.1f}) {:6.0f}, {:.0f}\n", name, plan.boxes.size(), plan.positions.size(), found.faults,
                   100.0 * found.planned_share(), 100.0 * found.planned_weight / found.weight, 100.0 * found.box_by_box_share(),
                   100.0 * found.box_by_box_weight / found.weight, agenda(plan, whole).seconds, box_by_box(plan, whole).seconds);
    }
    fmt::print("{:8} {:5} {:9} {:7} {:8.1f} % ({:4.1f}) {:8.1f} % ({:4.1f})\n", "all", "", "", all.faults, 100.0 * all.planned_share(),
               100.0 * all.planned_weight / all.weight, 100.0 * all.box_by_box_share(), 100.0 * all.box_by_box_weight / all.weight);
    fmt::print("\n{:10} {:>7} {:>9} {:>11}\n", "fault", "fell", "planned", "box by box");
    for (std::size_t kind = 0; kind < check_kinds; ++kind)
        if (const auto& [fell, planned, boxes] = all.by_kind[kind]; fell > 0)
            fmt::print("{:10} {:7} {:7.1f} % {:9.1f} %\n", plan::word(static_cast<plan::CheckKind>(kind)), fell, 100.0 * static_cast<double>(planned) / static_cast<double>(fell),
                       100.0 * static_cast<double>(boxes) / static_cast<double>(fell));
}
