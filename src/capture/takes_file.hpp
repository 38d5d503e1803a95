// Recorded takes, `proofwalk.takes/1`: a folder of WAV files with one takes.toml.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "capture/audio_file.hpp"
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
    Faults faults;  // of single takes (two of one id, no reference, unknown mic, ...) or mics (unreadable calibration,
                    // then its channels are left out): the others still count

    // Null when there is none of that id.
    [[nodiscard]] const Mic* mic(std::string_view id) const;
};

// Faults of the file as a whole (not TOML, wrong format, unknown keys, a bad [air], [[mic]] or [[signal]]) end it, all told
// in one run; faults of one take stand in `faults`.
[[nodiscard]] Checked<TakesFile> load_takes(const std::filesystem::path& file);

// Reads one take's recording. Refused with file, channel and reason: missing, not a recording, truncated, another rate
// than its signal, fewer channels than named, samples that are no numbers, all zeros in the reference or in every mic.
// A single mic that is clipped or all zeros stands in Recording::channel_faults; a mic with noise alone is no fault.
[[nodiscard]] Result<Recording> record_of(const TakesFile& takes, const TakesFile::Entry& entry);

}  // namespace proofwalk::capture
