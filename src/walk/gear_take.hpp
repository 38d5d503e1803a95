// One take that proves the gear, and what the proof says of it: loopback, mic match, calibrator.
#pragma once

#include <atomic>
#include <functional>
#include <string>
#include <vector>

#include "verify/gear.hpp"
#include "walk/session.hpp"

namespace proofwalk::walk {

struct GearTake {
    signal::TakeKind kind = signal::TakeKind::loopback;  // or match, calibrator
    std::string circuit, position;                       // match: what sounds, and the one spot where all mics stand
    int mics = 2;                                        // match: how many
    int mic = 1;                                         // calibrator: the mic that it is on, from 1
    double calibrator_db = 94.0;                         // and what it gives, dB SPL
};
[[nodiscard]] LiveTake live_take_of(const plan::Plan& plan, const TakeSource& source, const GearTake& asked, const Setup& setup);

struct GearProof {
    StoredTake take;
    std::vector<verify::GearCheck> checks;  // those that such a take is evidence for
};
// Captured, stored and judged; every verdict of the gear is kept in the log, and passes stand or fall with it. Faults: of the take
// (a match take needs a circuit and a position of the plan), of the log; stopped by `stop`.
[[nodiscard]] Result<GearProof> prove_by_take(Show& show, const TakeSource& source, const GearTake& asked, const Setup& setup,
                                              const std::function<void(const capture::Progress&)>& progress, const std::atomic<bool>& stop);

}  // namespace proofwalk::walk
