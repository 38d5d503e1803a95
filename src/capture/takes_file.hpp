// Recorded takes, `proofwalk.takes/1`: a folder of WAV files with one takes.toml.
#pragma once

#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "capture/recording.hpp"

namespace proofwalk::capture {

struct OnSiteAir {
    std::optional<double> temperature_c, humidity_pct, pressure_kpa;
};

struct TakesFile {
    std::filesystem::path file;
    std::optional<OnSiteAir> air;
    std::vector<Mic> mics;
    struct Entry {
        TakeSheet sheet;
        std::filesystem::path recording;               // resolved against the takes file's folder
        std::optional<std::filesystem::path> signal;   // played signal, when there is no reference channel
    };
    std::vector<Entry> takes;
    Faults faults;  // of single takes (missing file, two of one id, channel out of range, ...): the others still count
};

// Faults of the file as a whole (not TOML, wrong format, unknown keys) end it; faults of one take stand in `faults`.
[[nodiscard]] Checked<TakesFile> load_takes(const std::filesystem::path& file);

// Reads one take's recording. Refused with file, channel and reason: missing, truncated, clipped nowhere is no fault but
// a flag later; all zeros in every named channel, wrong rate against its signal, fewer channels than named.
[[nodiscard]] Result<Recording> record_of(const TakesFile& takes, const TakesFile::Entry& entry);

// Audio files, for signals and stored recordings: 16, 24, 32 bit or float; 44.1 to 192 kHz.
struct Audio {
    double rate_hz = 48000.0;
    std::vector<std::vector<float>> channels;
};
[[nodiscard]] Result<Audio> read_audio(const std::filesystem::path& file);
[[nodiscard]] Result<void> write_wav_float(const std::filesystem::path& file, const Audio& audio);

}  // namespace proofwalk::capture
