// The whole walk in a simulated room: the same takes, the same log, the same verdicts.
#pragma once

#include "rehearsal/rehearsal.hpp"
#include "walk/ingest.hpp"

namespace proofwalk::walk {

struct RehearsalOptions {
    rehearsal::Settings room;
    int mics = 8;            // mics carried in one round
    double sweep_s = 3.0;
};

[[nodiscard]] Result<std::vector<rehearsal::Hung>> rehearse(Show& show, const RehearsalOptions& options,
                                                            const Logged& logged);

}  // namespace proofwalk::walk
