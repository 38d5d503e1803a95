// One take as it was captured, whatever it came from: a live device, a recorded file or the rehearsal.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "signal/measure.hpp"
#include "units/fault.hpp"
#include "units/utc.hpp"

namespace proofwalk::capture {

// A microphone as the takes file or the gear record knows it.
struct Mic {
    std::string id;
    std::optional<signal::MicResponse> response;
    std::optional<double> pascal_per_fs;
    double latency_s = 0.0;
    std::string serial;
};

// Which channel (from 1) of a recording carries which mic at which position.
struct MicChannel {
    int channel = 0;
    std::string mic;
    std::string position;  // empty for calibrator, loopback and match takes
};

struct SweepStart {
    std::string circuit;
    double at_s = 0.0;
};

// What a take is: known before it is captured.
struct TakeSheet {
    std::string label;                    // unique in its file; in the log a take is known by its hash
    signal::TakeKind kind = signal::TakeKind::sweep;
    std::vector<std::string> sounding;    // circuits unmuted
    std::vector<SweepStart> starts;       // overlapped sweeps; empty otherwise
    std::optional<int> reference;         // channel from 1
    std::vector<MicChannel> mics;
    std::optional<double> calibrator_db;  // calibrator takes
    std::optional<Moment> time;
    bool trial = false;                   // a short play or a listen before the take: heard by the sound watch, never stored
};

struct Recording {
    TakeSheet sheet;
    double rate_hz = 48000.0;
    std::vector<std::vector<float>> channels;  // channels[c][sample], c from 0
    std::vector<float> played;                 // the known signal, when it was given; else empty
    bool lost_samples = false;                 // the device reported or the capture found a loss
    std::string device;                        // name, for the record
    std::string sha256;  // of the recorded file's bytes (recorded takes) or raw_sha256 of the channels (live, rehearsal)
    std::filesystem::path source;  // recorded file; empty when captured by ourselves
    // What is wrong with single channels (clipped, all zeros, a gap): told to people; the take is kept and the mics
    // concerned carry flags. Empty for a sound take.
    Faults channel_faults;
    // The device was lost in mid-take: what there is was kept (lost_samples is true). Store the take, then tell this.
    std::optional<Fault> ended_early;
    std::optional<double> drift_ppm;  // two devices: the recorder's clock against the player's, see likeness.hpp
    int overflows = 0, underflows = 0;  // as the device counted them; zero proves nothing
};

// Identity of a take that we captured ourselves: SHA-256 of "proofwalk.raw/1 RATE CHANNELS\n" and, per channel, its
// sample count (unsigned 64 bit) and samples (float 32 bit), little-endian.
[[nodiscard]] std::string raw_sha256(double rate_hz, const std::vector<std::vector<float>>& channels);

[[nodiscard]] std::string_view word(signal::TakeKind kind);
[[nodiscard]] std::optional<signal::TakeKind> take_kind_from_word(std::string_view word);

}  // namespace proofwalk::capture
