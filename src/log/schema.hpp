// The tables of the log, their versions, and which columns make up each kind of record. Described in docs/log.md.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "log/database.hpp"

namespace proofwalk::log {

inline constexpr std::int64_t application_id = 0x70775631;  // "pwV1"
inline constexpr int schema_version = 3;
inline constexpr int oldest_schema_version = 1;

// A table that holds a part of one kind of record: one row, or several in the order of `place`.
struct Part {
    std::string_view table;
    std::string_view columns;  // without `record`; `place` first where there are several rows
    bool many = false;
    int since = 1;  // the schema version that brought the table to its kind
};

struct Kind {
    std::string_view word;
    std::vector<Part> parts;
};

[[nodiscard]] std::span<const Kind> kinds();
[[nodiscard]] const Kind* kind_of(std::string_view word);

// Makes every table of a version, with application id and version, inside the caller's transaction.
void make_schema(const Database& database, int version = schema_version);
// Brings an older schema to the present one, version by version, inside the caller's transaction.
void migrate(const Database& database);
// Lets an older log be read as it is: tables that it does not have yet stand empty beside it, in memory.
void stand_in_for_missing_tables(const Database& database);

// What SQLite holds as its schema, in a fixed order; equal for every sound log of one version.
[[nodiscard]] std::string schema_text(const Database& database);
// The schema text as this program makes it for a version.
[[nodiscard]] std::string expected_schema_text(int version);

}  // namespace proofwalk::log
