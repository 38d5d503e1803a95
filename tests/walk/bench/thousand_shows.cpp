// A thousand simulated shows against the clock, the planned walk and the walk box by box side by side: figures for docs/shortest_walk.md.
// thousand_shows [SHOWS] [MINUTES] [overlap|hand] [PEOPLE] [RIG]; the same arguments print the same table. Not part of the tests.

#include <fmt/format.h>

#include <cstdio>
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
    const auto line = [](std::string_view name, const Found::Tally& tally, const std::string& more) {
        fmt::print("{:10} {:6}", name, tally.fell);
        for (const std::size_t walk : {planned_walk, walk_box_by_box}) fmt::print("  {:6.1f} % ({:5.1f})", 100.0 * tally.share(walk), 100.0 * tally.weighted(walk));
        fmt::print("  {:3} {:3} {:3}; {:3}{}\n", tally.missed[0], tally.missed[1], tally.missed[2], tally.beyond, more);
        std::fflush(stdout);
    };
    fmt::print("{:10} {:>6}  {:>16}  {:>16}  missed by the planned walk: not taken, unsure, passed; the whole walk misses\n", "rig", "faults", "planned walk", "box by box");
    Found all;
    for (std::size_t rig = 0; rig < rigs.size(); ++rig) {
        if (count > 5 && rig != static_cast<std::size_t>(std::atoi(arguments[5]))) continue;
        const auto& [name, plan] = rigs[rig];
        Situation whole = situation;
        whole.minutes.reset();
        const Found found = shows_on(plan, situation, shows / rigs.size(), static_cast<unsigned>(rig + 1));
        all += found;
        line(name, found.all, fmt::format("  {} boxes, {} positions, whole walk {:.0f} s, box by box {:.0f} s", plan.boxes.size(), plan.positions.size(),
                                          agenda(plan, whole).seconds, box_by_box(plan, whole).seconds));
    }
    line("all", all.all, "");
    fmt::print("\n");
    for (std::size_t kind = 0; kind < check_kinds; ++kind)
        if (all.by_kind[kind].fell > 0) line(plan::word(static_cast<plan::CheckKind>(kind)), all.by_kind[kind], "");
}
