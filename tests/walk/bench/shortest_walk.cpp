// How short the walk is and how much it finds: figures for docs/shortest_walk.md. Long: some minutes. Not part of the tests.

#include <fmt/format.h>

#include <chrono>
#include <ctime>
#include <cstdlib>

#include "plan/read.hpp"
#include "walk/errands.hpp"
#include "walk/generated_rig.hpp"
#include "walk/route/agenda.hpp"
#include "walk/route/doors.hpp"

namespace {

using namespace proofwalk;
using namespace proofwalk::walk::route;

template <class Work>
double seconds_of(Work work) {
    const auto begun = std::chrono::steady_clock::now();
    work();
    return std::chrono::duration<double>(std::chrono::steady_clock::now() - begun).count();
}

void small_errands() {
    fmt::print("Up to 12 places, proven by branch and bound (seeds 101..106, 6 circuits):\n");
    for (const std::size_t places : {8u, 10u, 12u})
        for (const int mics : {1, 2, 3, 4, 6, 8}) {
            double slowest = 0.0, widest = 0.0;
            for (unsigned seed = 101; seed <= 106; ++seed) {
                const Errand errand = generated_errand(seed, places, mics, 6);
                Itinerary exact;
                slowest = std::max(slowest, seconds_of([&] { exact = exact_rounds(errand); }));
                widest = std::max(widest, searched_rounds(errand, 1.0, 1).seconds / exact.seconds - 1.0);
            }
            fmt::print("  {:2} places, {} mics: slowest proof {:6.3f} s, the search alone at most {:4.1f} % above\n", places, mics, slowest, 100.0 * widest);
        }
}

void large_errands(unsigned instances) {
    fmt::print("60 places, 8 mics, 60 circuits (seeds 1..{}); best known: 3 searches of 20 times the effort:\n", instances);
    for (unsigned seed = 1; seed <= instances; ++seed) {
        const Errand errand = generated_errand(seed, 60, 8, 60);
        Itinerary quick;
        const double took = seconds_of([&] { quick = searched_rounds(errand, 1.0, 1); });
        double best = quick.seconds;
        for (unsigned search = 1; search <= 3; ++search) best = std::min(best, searched_rounds(errand, 20.0, search).seconds);
        fmt::print("  seed {}: {:7.1f} s in {:5.3f} s, best known {:7.1f} s, {:4.2f} % above\n", seed, quick.seconds, took, best, 100.0 * (quick.seconds / best - 1.0));
    }
}

// Seconds by the clock and of all processors, the least of some runs: other work on the machine only adds.
template <class Work>
std::pair<double, double> least_of(Work work) {
    double wall = 1e9, processor = 1e9;
    for (int run = 0; run < 5; ++run) {
        const std::clock_t begun = std::clock();
        wall = std::min(wall, seconds_of(work));
        processor = std::min(processor, static_cast<double>(std::clock() - begun) / CLOCKS_PER_SEC);
    }
    return {wall, processor};
}

void large_rig() {
    plan::Plan rig = walk::generated_rig(7, 5, 12);
    rig.positions.resize(60);
    fmt::print("Rig of {} boxes and {} positions, 8 mics; seconds by the clock (of all processors):\n", rig.boxes.size(), rig.positions.size());
    for (const double minutes : {0.0, 12.0, 30.0}) {
        Situation situation;
        situation.crew.mics = 8;
        if (minutes > 0.0) situation.minutes = minutes;
        Agenda whole, again;
        const auto planned = least_of([&] { whole = agenda(rig, situation); });
        situation.closed = {"p7"};
        const auto replanned = least_of([&] { again = agenda(rig, situation, 0.15); });
        fmt::print("  {}: agenda in {:.3f} s ({:.3f}), replanned in {:.3f} s ({:.3f})\n",
                   minutes > 0.0 ? fmt::format("{:.0f} minutes", minutes) : std::string("no clock"), planned.first, planned.second, replanned.first, replanned.second);
    }
}

void demo_rig(const plan::Plan& plan) {
    for (const int people : {1, 2}) {
        Situation situation;
        situation.crew.people = people;
        const Agenda walk = agenda(plan, situation), boxes = box_by_box(plan, situation);
        double overlapped_s = 0.0;
        for (const Leg& leg : walk.legs) overlapped_s += doors_signal({leg.circuits}, 0.5).seconds;
        fmt::print("Demo rig, 4 mics, {} people: {} takes, {:.0f} s of signal one after another, {:.0f} s overlapped; whole walk {:.0f} s, box by box {:.0f} s\n",
                   people, walk.takes(), static_cast<double>(walk.takes()) * situation.crew.take_s, overlapped_s, walk.seconds, boxes.seconds);
    }
}

}  // namespace

int main(int argc, char** argv) {
    const unsigned instances = argc > 1 ? static_cast<unsigned>(std::atoi(argv[1])) : 10;
    const auto file = plan::load(std::string(PROOFWALK_SOURCE_DIR) + "/fixtures/demo/plan.toml");
    if (!file) {
        fmt::print(stderr, "{}\n", sentence(file.error().front()));
        return 2;
    }
    demo_rig(file->plan);
    large_rig();
    small_errands();
    large_errands(instances);
}
