#include "log/schema.hpp"

#include <fmt/format.h>

#include <array>

namespace proofwalk::log {
namespace {

// Version 1. `record` is the spine: one row a record, of any kind, in the order of this log.
constexpr std::string_view version_1 = R"sql(
CREATE TABLE record (
  number INTEGER PRIMARY KEY,
  kind TEXT NOT NULL,
  chain TEXT NOT NULL,
  tick INTEGER NOT NULL,
  utc_s INTEGER NOT NULL,
  offset_min INTEGER NOT NULL,
  who TEXT NOT NULL,
  machine TEXT NOT NULL,
  tool TEXT NOT NULL,
  device TEXT NOT NULL,
  previous TEXT NOT NULL,
  hash TEXT NOT NULL UNIQUE
) STRICT;
CREATE INDEX record_of_kind ON record (kind, number);

CREATE TABLE plan (
  record INTEGER PRIMARY KEY REFERENCES record (number) DEFERRABLE INITIALLY DEFERRED,
  name TEXT NOT NULL,
  bytes BLOB NOT NULL,
  sha256 TEXT NOT NULL,
  folder TEXT NOT NULL
) STRICT;

CREATE TABLE take (
  record INTEGER PRIMARY KEY REFERENCES record (number) DEFERRABLE INITIALLY DEFERRED,
  sha256 TEXT NOT NULL,
  label TEXT NOT NULL,
  kind TEXT NOT NULL,
  temperature_c REAL,
  humidity_pct REAL,
  pressure_kpa REAL,
  rate_hz REAL NOT NULL,
  seconds REAL NOT NULL,
  plan TEXT NOT NULL
) STRICT;
CREATE INDEX take_of_recording ON take (sha256);

CREATE TABLE take_circuit (
  record INTEGER NOT NULL REFERENCES take (record) DEFERRABLE INITIALLY DEFERRED,
  place INTEGER NOT NULL,
  circuit TEXT NOT NULL,
  PRIMARY KEY (record, place)
) STRICT, WITHOUT ROWID;

CREATE TABLE raw_file (
  record INTEGER NOT NULL REFERENCES take (record) DEFERRABLE INITIALLY DEFERRED,
  place INTEGER NOT NULL,
  name TEXT NOT NULL,
  channels INTEGER NOT NULL,
  bytes INTEGER NOT NULL,
  sha256 TEXT NOT NULL,
  PRIMARY KEY (record, place)
) STRICT, WITHOUT ROWID;

CREATE TABLE reading (
  record INTEGER NOT NULL REFERENCES take (record) DEFERRABLE INITIALLY DEFERRED,
  place INTEGER NOT NULL,
  circuit TEXT NOT NULL,
  mic TEXT NOT NULL,
  position TEXT NOT NULL,
  arrival_s REAL,
  arrival_u_s REAL,
  polarity INTEGER,
  aim_band_db REAL,
  aim_band_u_db REAL,
  signal_to_noise_db REAL,
  flags INTEGER NOT NULL,
  body BLOB NOT NULL,
  PRIMARY KEY (record, place)
) STRICT;

CREATE TABLE evidence (
  record INTEGER NOT NULL REFERENCES take (record) DEFERRABLE INITIALLY DEFERRED,
  place INTEGER NOT NULL,
  body BLOB NOT NULL,
  PRIMARY KEY (record, place)
) STRICT;

CREATE TABLE silence (
  record INTEGER NOT NULL REFERENCES take (record) DEFERRABLE INITIALLY DEFERRED,
  place INTEGER NOT NULL,
  mic TEXT NOT NULL,
  position TEXT NOT NULL,
  body BLOB NOT NULL,
  PRIMARY KEY (record, place)
) STRICT;

CREATE TABLE calibration (
  record INTEGER NOT NULL REFERENCES take (record) DEFERRABLE INITIALLY DEFERRED,
  place INTEGER NOT NULL,
  mic TEXT NOT NULL,
  pascal_per_fs REAL NOT NULL,
  level_db REAL NOT NULL,
  PRIMARY KEY (record, place)
) STRICT, WITHOUT ROWID;

CREATE TABLE judgement (
  record INTEGER PRIMARY KEY REFERENCES record (number) DEFERRABLE INITIALLY DEFERRED,
  base TEXT NOT NULL,
  depth INTEGER NOT NULL,
  plan TEXT NOT NULL,
  last_take TEXT NOT NULL,
  last_change TEXT NOT NULL,
  last_hand_reading TEXT NOT NULL,
  last_gear TEXT NOT NULL,
  stands_on INTEGER NOT NULL,
  body BLOB NOT NULL
) STRICT;

CREATE TABLE verdict (
  record INTEGER NOT NULL REFERENCES judgement (record) DEFERRABLE INITIALLY DEFERRED,
  place INTEGER NOT NULL,
  "check" TEXT NOT NULL,
  subject TEXT NOT NULL,
  verdict TEXT NOT NULL,
  value REAL,
  unit TEXT NOT NULL,
  uncertainty REAL,
  says TEXT NOT NULL,
  PRIMARY KEY (record, place)
) STRICT, WITHOUT ROWID;
CREATE INDEX verdict_of_check ON verdict (subject, "check", record);

CREATE TABLE skip (
  record INTEGER PRIMARY KEY REFERENCES record (number) DEFERRABLE INITIALLY DEFERRED,
  "check" TEXT NOT NULL,
  subject TEXT NOT NULL,
  why TEXT NOT NULL,
  taken_up INTEGER NOT NULL
) STRICT;

CREATE TABLE change (
  record INTEGER PRIMARY KEY REFERENCES record (number) DEFERRABLE INITIALLY DEFERRED,
  subject TEXT NOT NULL,
  what TEXT NOT NULL
) STRICT;

CREATE TABLE sign_off (
  record INTEGER PRIMARY KEY REFERENCES record (number) DEFERRABLE INITIALLY DEFERRED,
  role TEXT NOT NULL,
  plan TEXT NOT NULL,
  last_take TEXT NOT NULL,
  tally_digest TEXT NOT NULL
) STRICT;

CREATE TABLE sign_off_exception (
  record INTEGER NOT NULL REFERENCES sign_off (record) DEFERRABLE INITIALLY DEFERRED,
  place INTEGER NOT NULL,
  "check" TEXT NOT NULL,
  subject TEXT NOT NULL,
  PRIMARY KEY (record, place)
) STRICT, WITHOUT ROWID;

CREATE TABLE hand_reading (
  record INTEGER PRIMARY KEY REFERENCES record (number) DEFERRABLE INITIALLY DEFERRED,
  "check" TEXT NOT NULL,
  subject TEXT NOT NULL,
  value REAL NOT NULL,
  u REAL NOT NULL,
  read_by TEXT NOT NULL
) STRICT;

CREATE TABLE gear (
  record INTEGER PRIMARY KEY REFERENCES record (number) DEFERRABLE INITIALLY DEFERRED,
  "check" TEXT NOT NULL,
  subject TEXT NOT NULL,
  verdict TEXT NOT NULL,
  says TEXT NOT NULL
) STRICT;

-- Where this file stands in its chains; rewritten as records are added, checked by the audit.
CREATE TABLE head (
  hash TEXT PRIMARY KEY
) STRICT, WITHOUT ROWID;
CREATE TABLE own_chain (
  chain TEXT NOT NULL
) STRICT;
)sql";


// Version 2: photos, documents and notes; who took part and what failed are found without reading everything.
constexpr std::string_view version_2 = R"sql(
CREATE TABLE attachment (
  record INTEGER PRIMARY KEY REFERENCES record (number) DEFERRABLE INITIALLY DEFERRED,
  subject TEXT NOT NULL,
  name TEXT NOT NULL,
  note TEXT NOT NULL,
  stored_as TEXT NOT NULL,
  bytes INTEGER NOT NULL,
  sha256 TEXT NOT NULL
) STRICT;

CREATE TABLE note (
  record INTEGER PRIMARY KEY REFERENCES record (number) DEFERRABLE INITIALLY DEFERRED,
  subject TEXT NOT NULL,
  text TEXT NOT NULL,
  incident INTEGER NOT NULL,
  happened_utc_s INTEGER NOT NULL,
  happened_offset_min INTEGER NOT NULL
) STRICT;

CREATE INDEX verdict_failed ON verdict (subject, "check") WHERE verdict = 'fail';
CREATE INDEX record_of_person ON record (who);
)sql";

// Version 3: sign-offs of single boxes and arrays; what was heard where is found without reading what was heard.
constexpr std::string_view version_3 = R"sql(
CREATE TABLE sign_off_scope (
  record INTEGER NOT NULL REFERENCES sign_off (record) DEFERRABLE INITIALLY DEFERRED,
  place INTEGER NOT NULL,
  subject TEXT NOT NULL,
  PRIMARY KEY (record, place)
) STRICT, WITHOUT ROWID;

CREATE INDEX reading_of_place ON reading (circuit, position, record, mic);
)sql";

void forbid_edits(const Database& database, std::string_view table) {
    for (const std::string_view event : {"UPDATE", "DELETE"})
        database.execute(fmt::format("CREATE TRIGGER {0}_keeps_{1} BEFORE {2} ON {0} BEGIN "
                                     "SELECT RAISE(ABORT, 'records are appended, never edited'); END",
                                     table, event == "UPDATE" ? "values" : "rows", event));
}

void make_version_1(const Database& database) {
    database.execute(std::string{version_1});
    forbid_edits(database, "record");
    for (const std::string_view table :
         {"plan", "take", "take_circuit", "raw_file", "reading", "evidence", "silence", "calibration", "judgement", "verdict",
          "skip", "change", "sign_off", "sign_off_exception", "hand_reading", "gear"})
        forbid_edits(database, table);
}

void add_version_2(const Database& database) {
    database.execute(std::string{version_2});
    forbid_edits(database, "attachment");
    forbid_edits(database, "note");
}

void add_version_3(const Database& database) {
    database.execute(std::string{version_3});
    forbid_edits(database, "sign_off_scope");
}

constexpr std::array<void (*)(const Database&), schema_version> steps = {make_version_1, add_version_2, add_version_3};

void set_version(const Database& database, int version) {
    database.execute(fmt::format("PRAGMA user_version = {}", version));
}

}  // namespace

std::span<const Kind> kinds() {
    static const std::vector<Kind> list = {
        {"plan", {{"plan", "name, bytes, sha256, folder"}}},
        {"take",
         {{"take",
           "sha256, label, kind, temperature_c, humidity_pct, pressure_kpa, rate_hz, seconds, plan"},
          {"take_circuit", "place, circuit", true},
          {"raw_file", "place, name, channels, bytes, sha256", true},
          {"reading",
           "place, circuit, mic, position, arrival_s, arrival_u_s, polarity, aim_band_db, aim_band_u_db, "
           "signal_to_noise_db, flags, body",
           true},
          {"evidence", "place, body", true},
          {"silence", "place, mic, position, body", true},
          {"calibration", "place, mic, pascal_per_fs, level_db", true}}},
        {"judgement",
         {{"judgement",
           "base, depth, plan, last_take, last_change, last_hand_reading, last_gear, stands_on, body"},
          {"verdict", "place, \"check\", subject, verdict, value, unit, uncertainty, says", true}}},
        {"skip", {{"skip", "\"check\", subject, why, taken_up"}}},
        {"change", {{"change", "subject, what"}}},
        {"sign-off",
         {{"sign_off", "role, plan, last_take, tally_digest"},
          {"sign_off_exception", "place, \"check\", subject", true},
          {"sign_off_scope", "place, subject", true, 3}}},
        {"hand-reading", {{"hand_reading", "\"check\", subject, value, u, read_by"}}},
        {"gear", {{"gear", "\"check\", subject, verdict, says"}}},
        {"attachment", {{"attachment", "subject, name, note, stored_as, bytes, sha256"}}},
        {"note", {{"note", "subject, text, incident, happened_utc_s, happened_offset_min"}}},
    };
    return list;
}

const Kind* kind_of(std::string_view word) {
    for (const Kind& kind : kinds())
        if (kind.word == word) return &kind;
    return nullptr;
}

void make_schema(const Database& database, int version) {
    for (int step = 0; step < version; ++step) steps[static_cast<std::size_t>(step)](database);
    database.execute(fmt::format("PRAGMA application_id = {}", application_id));
    set_version(database, version);
}

void migrate(const Database& database) {
    for (auto version = database.pragma("user_version"); version < schema_version; ++version)
        steps[static_cast<std::size_t>(version)](database);
    set_version(database, schema_version);
}

void stand_in_for_missing_tables(const Database& database) {
    for (const Kind& kind : kinds())
        for (const Part& part : kind.parts)
            if (!database.find_integer("SELECT 1 FROM main.sqlite_schema WHERE type = 'table' AND name = ?1", part.table))
                database.execute(fmt::format("CREATE TEMP TABLE {} (record, {})", part.table, part.columns));
}

std::string schema_text(const Database& database) {
    std::string text;
    Statement statement = database.prepare("SELECT type, name, sql FROM sqlite_schema ORDER BY type, name");
    while (statement.step())
        text += fmt::format("{} {}: {}\n", statement.text(0), statement.text(1), statement.text(2));
    return text;
}

std::string expected_schema_text(int version) {
    const Database memory(":memory:", Access::create, std::chrono::milliseconds{0});
    make_schema(memory, version);
    return schema_text(memory);
}

}  // namespace proofwalk::log
