// Raw recordings beside the log: FLAC with 24 bit where that loses nothing, WAV float otherwise; named by the hash of the
// take. A file is complete and on the disk before it has its name.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "log/store_error.hpp"

namespace proofwalk::log {

// One file of a recording: at most 4 channels each, evenly spread, the first file holding the first channels.
struct RawFile {
    std::string name;
    int channels = 0;
    std::int64_t bytes = 0;
    std::string sha256;  // of the file's bytes
};

// Writes and syncs all files of a recording, then their folder. Throws StoreError.
[[nodiscard]] std::vector<RawFile> store_raw(const std::filesystem::path& folder, const std::string& take_sha256,
                                             double rate_hz, const std::vector<std::vector<float>>& channels);

// The channels of a stored recording, after every file was found to be the one that was stored.
[[nodiscard]] std::vector<std::vector<float>> load_raw(const std::filesystem::path& folder,
                                                       const std::vector<RawFile>& files);

// What is wrong with a stored file ("is missing", "was changed"); empty when it is as it was stored.
[[nodiscard]] std::string raw_fault(const std::filesystem::path& folder, const RawFile& file);

// Takes away what an interrupted program left half written.
void remove_half_written(const std::filesystem::path& folder);

}  // namespace proofwalk::log
