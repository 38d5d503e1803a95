// Bytes that are on the disk, under their name, when the function returns.
#pragma once

#include <cstddef>
#include <filesystem>
#include <optional>
#include <span>
#include <vector>

#include "log/store_error.hpp"

namespace proofwalk::log {

// Writes under a temporary name, syncs, renames and syncs the folder (made when it is not there). Throws StoreError.
void write_durably(const std::filesystem::path& file, std::span<const std::byte> bytes);
// Without the sync of the folder, for several files in a row.
void write_synced(const std::filesystem::path& file, std::span<const std::byte> bytes);
// A copy on the disk under its name; the folder is not synced.
void copy_synced(const std::filesystem::path& source, const std::filesystem::path& target);
void sync_file(const std::filesystem::path& file);
void make_folder(const std::filesystem::path& folder);
void sync_folder(const std::filesystem::path& folder);

// Whole file; nothing when it cannot be read.
[[nodiscard]] std::optional<std::vector<std::byte>> bytes_of(const std::filesystem::path& file);

}  // namespace proofwalk::log
