// Is a log still what was written? Every record's hash covers its content and the records before it; a hash that was
// noted elsewhere (printed on a sign-off) also shows a log that was cut short or written anew.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "units/fault.hpp"

namespace proofwalk::log {

enum class Tampering { changed, removed, inserted, moved, bookkeeping, anchor, recording };
[[nodiscard]] std::string_view word(Tampering tampering);

struct Finding {
    std::int64_t number = 0;  // record in this log; for removed ones the first that misses it; 0: the log as a whole
    Tampering what = Tampering::changed;
    std::string says;
};

struct ChainSummary {
    std::string chain;                // name of the log where these records were born
    std::vector<std::string> machines;
    std::int64_t records = 0;
};

struct Audit {
    std::int64_t records = 0;
    std::vector<ChainSummary> chains;
    std::vector<std::string> heads;    // hashes of the newest records: note one of them and the log can't be cut unseen
    std::vector<Finding> findings;     // the first record concerned first
    std::vector<std::string> forks;    // places where copies of one log were continued apart
    std::int64_t recordings = 0;       // raw files and attachments compared with their hashes
    std::optional<std::int64_t> anchored;  // records that the given hash vouches for
    [[nodiscard]] bool sound() const { return findings.empty(); }
};

struct AuditRequest {
    std::string against;      // a whole hash or its first 8 or more digits; empty: none
    bool recordings = true;   // read every raw recording and attachment too
};

[[nodiscard]] Result<Audit> audit(const std::filesystem::path& file, const AuditRequest& request);

}  // namespace proofwalk::log
