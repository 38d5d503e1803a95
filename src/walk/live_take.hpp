// One take through an audio device: armed by a named person, played, captured, stored, judged.
#pragma once

#include <atomic>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "capture/device.hpp"
#include "walk/excite.hpp"
#include "walk/sound_watch.hpp"
#include "walk/store_take.hpp"

namespace proofwalk::walk {

struct LiveTake {
    std::string circuit;
    int output = 1;     // playback channel of the circuit, from 1
    int reference = 1;  // capture channel with the loopback, from 1
    std::optional<int> loopback_output;  // playback channel wired to the reference, where that is another than `output`
    std::vector<capture::MicChannel> mics;
    std::vector<capture::Mic> known_mics;  // calibration of those that have one
    std::string armed_by;
    Drive drive;
    std::optional<double> calibrator_db;  // calibrator takes: what the calibrator on the mics gives, 94 or 114

    // Levels climb from low and exposure adds up in here; without one a real device starts low at every take and the
    // simulated room plays as it is told.
    SoundWatch* watch = nullptr;
    SoundWatch::Say say;  // what the watch has to tell
    SoundWatch::Ask ask;
};

// What a device is asked to play and capture for a take with this drive.
struct PreparedPlay {
    capture::PlayRequest request;
    double start_s = 0.0;  // of the signal
};
// Faults: a circuit without a band, a drive that makes no signal.
[[nodiscard]] Result<PreparedPlay> prepared(const plan::Plan& plan, const LiveTake& take, const Drive& drive);

// Why this take can't be made with this device; nothing when it can.
[[nodiscard]] std::optional<Fault> unfit(const LiveTake& take, const capture::DeviceInfo& device);
// The take's own watch; else `own` for a real device and none for the simulated room.
[[nodiscard]] SoundWatch* watch_for(const LiveTake& take, const capture::DeviceInfo& device, SoundWatch& own);

// Stores what was captured. A log that is full or locked is tried again for a while; then the recording is put away (see
// capture/rescue.hpp), and the fault says where.
[[nodiscard]] Result<StoredTake> store_or_rescue(Show& show, const capture::Recording& recording, const LiveTake& take, const std::string& device,
                                                 const std::atomic<bool>& stop);

// Captured and durable, not yet judged.
[[nodiscard]] Result<StoredTake> take_stored(Show& show, capture::Device& device, const LiveTake& take,
                                             const std::function<void(const capture::Progress&)>& progress,
                                             const std::atomic<bool>& stop);

// The same, and judged.
[[nodiscard]] Result<StoredTake> take_live(Show& show, capture::Device& device, const LiveTake& take,
                                           const std::function<void(const capture::Progress&)>& progress,
                                           const std::atomic<bool>& stop);

// Said before any signal plays: the one wording of the whole program.
[[nodiscard]] std::string sound_caution();
[[nodiscard]] std::string rigging_caution();
// One of these failed and its advice is to turn or move what hangs.
[[nodiscard]] bool asks_to_rig(std::span<const verify::CheckResult> checks);

}  // namespace proofwalk::walk
