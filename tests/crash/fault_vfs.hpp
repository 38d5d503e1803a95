// A disk that fails on purpose, below SQLite: I/O errors, short writes, no space, syncs that do nothing, and the power
// cut. It stands in front of the operating system's own files while an object of it lives.
#pragma once

#include <cstddef>
#include <filesystem>
#include <map>
#include <random>
#include <string>
#include <vector>

namespace proofwalk::log {

enum class DiskFault { none, write_error, short_write, full, sync_error, read_error };

class FaultyDisk {
public:
    FaultyDisk();  // becomes SQLite's default file system
    FaultyDisk(const FaultyDisk&) = delete;
    FaultyDisk& operator=(const FaultyDisk&) = delete;
    ~FaultyDisk();

    // The fault comes at the given operation of its kind from now on (1 is the next), and at every later one while
    // `lasting`.
    void fail(DiskFault fault, int after, bool lasting);
    void heal();
    void lose_syncs(bool lose);  // a sync says that it is done and does nothing

    // What would stand on the disk if the power failed now: everything synced, and of what was written since an
    // arbitrary part, the last of it torn. Written to another folder.
    void cut_power(const std::filesystem::path& from, const std::filesystem::path& to, std::mt19937& random) const;

    [[nodiscard]] int faults_given() const;
};

}  // namespace proofwalk::log
