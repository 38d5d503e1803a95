// From the samples of one take to evidence, one entry per mic (and circuit, for overlapped sweeps).
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "signal/evidence.hpp"

namespace proofwalk::signal {

enum class TakeKind { sweep, noise, silence, calibrator, loopback, match };

// A mic's own response, taken off the measured one. Ascending frequency; linear in dB over log frequency, held flat outside.
struct MicResponse {
    std::vector<double> hz;
    std::vector<double> db;
};

struct MicTrack {
    std::span<const float> samples;
    std::optional<MicResponse> response;
    std::optional<double> pascal_per_fs;  // instantaneous pascals at sample value 1.0
    double latency_s = 0.0;
};

struct Samples {
    double rate_hz = 48000.0;
    TakeKind kind = TakeKind::sweep;
    std::span<const float> reference;        // channel with the signal as it left the tool; empty: none
    std::span<const float> played;           // the known signal, where given; used when there is no reference channel
    std::vector<double> starts_s;            // overlapped sweeps: where each circuit's sweep starts; empty: one circuit
    std::vector<MicTrack> mics;
    // Third-octave noise power of each mic from a silence take of the same walk, dB re full scale sine; may be empty.
    std::vector<BandLevels> silence_dbfs;
    bool device_lost_samples = false;        // the device itself reported a loss
};

// result[circuit][mic]; one circuit unless starts_s is given. A mic that hears nothing gives evidence with flags,
// not a fault; a fault means that nothing of the take can be used (no reference and no signal, empty, wrong rate).
[[nodiscard]] Result<std::vector<std::vector<Evidence>>> measure(const Samples& samples, const Bands& bands);

// Silence take: third-octave level of each mic, dB re full-scale sine.
[[nodiscard]] BandLevels band_levels_dbfs(std::span<const float> samples, double rate_hz);

// Two-column mic calibration text: "#", "*" or ";" comments, tabs, commas or spaces, decimal commas, any order.
[[nodiscard]] Result<MicResponse> mic_response_from_text(std::string_view text, std::string_view file);

// Calibrator take: level_db (94, 114) at 1 kHz gives pascals at sample value 1.0; refused when clipped, when the tone
// is not there or less than 10 dB above the rest.
[[nodiscard]] Result<double> pascal_per_fs_from_calibrator(std::span<const float> samples, double rate_hz, double level_db);

}  // namespace proofwalk::signal
