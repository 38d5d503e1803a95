// One take through an audio device: armed by a named person, played, captured, stored, judged.
#pragma once

#include <atomic>
#include <string>
#include <vector>

#include "capture/device.hpp"
#include "walk/excite.hpp"
#include "walk/store_take.hpp"

namespace proofwalk::walk {

struct LiveTake {
    std::string circuit;
    int output = 1;     // playback channel of the circuit, from 1
    int reference = 1;  // capture channel with the loopback, from 1
    std::vector<capture::MicChannel> mics;
    std::vector<capture::Mic> known_mics;  // calibration of those that have one
    std::string armed_by;
    Drive drive;
};

// Captured and durable, not yet judged.
[[nodiscard]] Result<StoredTake> take_stored(Show& show, capture::Device& device, const LiveTake& take,
                                             const std::function<void(const capture::Progress&)>& progress,
                                             const std::atomic<bool>& stop);

// The same, and judged.
[[nodiscard]] Result<StoredTake> take_live(Show& show, capture::Device& device, const LiveTake& take,
                                           const std::function<void(const capture::Progress&)>& progress,
                                           const std::atomic<bool>& stop);

// Said before any signal plays.
[[nodiscard]] std::string sound_caution();
[[nodiscard]] std::string rigging_caution();

}  // namespace proofwalk::walk
