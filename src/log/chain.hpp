// The hash chain: every record's hash covers its content and the hashes of the records that were newest when it was
// made. A log that was merged carries the chains of both, and the next record ties them together.
#pragma once

#include <cstdint>
#include <string>

#include "log/database.hpp"
#include "log/log.hpp"
#include "log/schema.hpp"

namespace proofwalk::log {

// The number that the next record will have; its parts are written under it before append() closes the record.
[[nodiscard]] std::int64_t next_number(const Database& database);

// Writes the spine row of record `number`, whose parts are there already, and makes it the head. Gives its hash.
std::string append(const Database& database, std::int64_t number, std::string_view kind, const Origin& origin);

// The spine row of a record.
struct Spine {
    std::int64_t number = 0;
    std::string kind, chain;
    std::int64_t tick = 0;  // microseconds of UTC when it was made, always more than every record before it
    Origin origin;
    std::string previous;   // hashes of the heads before it, in ascending order, with spaces between; empty for the first
    std::string hash;
};
inline constexpr std::string_view spine_columns =
    "number, kind, chain, tick, utc_s, offset_min, who, machine, tool, device, previous, hash";
inline constexpr std::string_view origin_columns = "utc_s, offset_min, who, machine, tool, device";
[[nodiscard]] Origin origin_from(const Statement& row, int first);  // from origin_columns, starting at column `first`
// From columns of a row in the order of spine_columns, starting at `first`.
[[nodiscard]] Spine spine_from(const Statement& row, int first = 0);

// SHA-256 over the spine without number and hash, and every value of every part as it stands in the file.
[[nodiscard]] std::string content_hash(const Database& database, const Spine& spine, std::string_view schema = "main");

// Hash of a record by number and back; empty or 0 when there is none.
[[nodiscard]] std::string hash_of(const Database& database, std::int64_t number);
[[nodiscard]] std::int64_t number_of(const Database& database, const std::string& hash);

}  // namespace proofwalk::log
