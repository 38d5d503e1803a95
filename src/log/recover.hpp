// Everything that a damaged log still holds, in a new one. The damaged file is only read.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "log/log.hpp"

namespace proofwalk::log {

struct Recovered {
    std::int64_t records = 0;          // in the new log, each proven by its hash
    std::vector<std::string> lost;     // one line a record that could not be proven, with what is known of it
    std::vector<std::string> missing_files;
};

// `into` must not be there yet. `origin` stands on the note in which the new log says what it came from.
[[nodiscard]] Result<Recovered> recover(const std::filesystem::path& damaged, const std::filesystem::path& into,
                                        const Origin& origin);

}  // namespace proofwalk::log
