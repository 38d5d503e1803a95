// From one captured take to a durable record: measure, read, store. The same for live, recorded and rehearsed takes.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "capture/recording.hpp"
#include "walk/show.hpp"

namespace proofwalk::walk {

struct StoredTake {
    std::string label, sha256;
    std::int64_t number = 0;
    bool already_there = false;
    log::TakeRecord record;  // as stored, for those who show it
    Faults faults;           // of single channels: the take is kept, its flags say so
    bool lost_samples = false, ended_early = false;  // see capture::Recording
};

// `judge_ahead`: `judged` will be called next, see there.
// Faults: a circuit or position that the plan does not have, a take that can't be used (no reference, empty), the log.
[[nodiscard]] Result<StoredTake> store_take(Show& show, const capture::Recording& recording,
                                            const std::vector<capture::Mic>& mics,
                                            const std::optional<acoustics::Air>& air, const log::Origin& origin, bool judge_ahead = false);

// Instantaneous pascals at sample value 1.0 from the newest calibrator take of this mic.
[[nodiscard]] std::optional<double> calibration_of(const std::vector<log::TakeRecord>& takes, const std::string& mic);

// The air of the newest take that measured it, else the plan's.
[[nodiscard]] acoustics::Air air_of(const plan::Plan& plan, const std::vector<log::TakeRecord>& takes);

}  // namespace proofwalk::walk
