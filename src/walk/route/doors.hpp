// Before doors: every circuit once more, with the mics where they are, in a minute at most. One overlapped signal: the same
// sweep for every circuit, each starting before the one before it has died away.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "plan/plan.hpp"
#include "verify/judge.hpp"

namespace proofwalk::walk::route {

inline constexpr double most_doors_s = 60.0;

struct DoorsSignal {
    double sweep_s = 0.0;  // length of each sweep
    double gap_s = 0.0;    // from start to start
    double seconds = 0.0;  // whole
    std::vector<std::vector<std::pair<std::string, double>>> takes;  // circuit, seconds after the beginning of its take
    std::vector<std::string> left_out;                   // circuits that don't fit: the last of the plan
};

// The longest sweeps that fit (Majdak, Balazs and Laback, JAES 55, 623, 2007: a start waits for the harmonics up to the
// third of the sweep after it, and for the decay of the one before). `takes`: circuits that can sound in one take.
// `decay_s`: after it the room is quiet enough.
[[nodiscard]] DoorsSignal doors_signal(const std::vector<std::vector<std::string>>& takes, double decay_s, double low_hz = 20.0,
                                       double high_hz = 20000.0);

// What has changed between the walk that was signed and now, circuit by circuit, in plain words. Only readings of one
// circuit at one position are compared; positions that say the same stand together. Empty: nothing that their uncertainties could show.
struct Changed {
    enum class What { silent, polarity, louder, quieter, later, earlier };
    std::string circuit;
    What what = What::silent;
    std::vector<std::string> positions;
    double amount = 0.0;  // dB or ms: the middle of the positions
    std::string says;
};
struct Compared {
    std::vector<Changed> changed;
    std::vector<std::string> not_heard_again;  // circuits of the signed walk without a reading now
    std::size_t pairs = 0;                     // compared
};
[[nodiscard]] Compared compared(const std::vector<verify::TakenReading>& then, const std::vector<verify::TakenReading>& now,
                                const plan::Rules& rules);

}  // namespace proofwalk::walk::route
