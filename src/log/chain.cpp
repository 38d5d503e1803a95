#include "log/chain.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <random>

#include "log/bytes.hpp"
#include "units/sha256.hpp"

namespace proofwalk::log {
namespace {

constexpr std::size_t longest_plain_value = 256;  // longer ones enter the hash by their own hash

void add_value(ByteWriter& out, const Statement& row, int column) {
    const ColumnType type = row.type(column);
    out.number(static_cast<std::uint8_t>(type));
    switch (type) {
        case ColumnType::null: break;
        case ColumnType::integer: out.number(row.integer(column)); break;
        case ColumnType::real: out.number(row.real(column)); break;
        case ColumnType::text:
        case ColumnType::blob: {
            const auto bytes = row.blob(column);
            out.number(static_cast<std::uint64_t>(bytes.size()));
            if (bytes.size() <= longest_plain_value)
                out.blob(bytes);
            else
                out.text(sha256(bytes));
            break;
        }
    }
}

// A part without rows leaves no trace in the hash, so that a later version can add parts to a kind of record.
void add_part(ByteWriter& out, const Database& database, std::string_view schema, std::int64_t number, const Part& part) {
    if (part.since > 1 &&
        !database.find_integer(fmt::format("SELECT 1 FROM {}.sqlite_schema WHERE type = 'table' AND name = ?1", schema), part.table))
        return;  // an older log
    Statement rows = database.prepare(fmt::format("SELECT {} FROM {}.{} WHERE record = ?1{}", part.columns, schema,
                                                  part.table, part.many ? " ORDER BY place" : ""));
    rows.bind(number);
    while (rows.step()) {
        out.text(part.table);
        for (int column = 0; column < rows.columns(); ++column) add_value(out, rows, column);
    }
}

std::string random_chain_id() {
    std::random_device device;
    std::string id;
    for (int part = 0; part < 4; ++part) id += fmt::format("{:08x}", device());
    return id;
}

// The chain of records born in this file; begun with the first of them.
std::string own_chain(const Database& database) {
    if (auto chain = database.find_text("SELECT chain FROM own_chain")) return *chain;
    const std::string chain = random_chain_id();
    database.run("INSERT INTO own_chain (chain) VALUES (?1)", chain);
    return chain;
}

std::string heads(const Database& database) {
    std::string joined;
    Statement rows = database.prepare("SELECT hash FROM head ORDER BY hash");
    while (rows.step()) joined += (joined.empty() ? "" : " ") + rows.text(0);
    return joined;
}

std::int64_t next_tick(const Database& database) {
    using namespace std::chrono;
    const auto clock_us = duration_cast<microseconds>(system_clock::now().time_since_epoch()).count();
    const auto newest = database.find_integer("SELECT tick FROM record ORDER BY number DESC LIMIT 1");
    return std::max(std::int64_t{clock_us}, newest.value_or(0) + 1);
}

}  // namespace

std::int64_t next_number(const Database& database) {
    return database.find_integer("SELECT max(number) FROM record").value_or(0) + 1;
}

Origin origin_from(const Statement& row, int first) {
    Origin origin;
    origin.when = {row.integer(first), static_cast<std::int32_t>(row.integer(first + 1))};
    origin.who = row.text(first + 2);
    origin.machine = row.text(first + 3);
    origin.tool = row.text(first + 4);
    origin.device = row.text(first + 5);
    return origin;
}

Spine spine_from(const Statement& row, int first) {
    Spine spine;
    spine.number = row.integer(first);
    spine.kind = row.text(first + 1);
    spine.chain = row.text(first + 2);
    spine.tick = row.integer(first + 3);
    spine.origin = origin_from(row, first + 4);
    spine.previous = row.text(first + 10);
    spine.hash = row.text(first + 11);
    return spine;
}

std::string content_hash(const Database& database, const Spine& spine, std::string_view schema) {
    ByteWriter out;
    out.text("proofwalk record 1");
    out.text(spine.kind);
    out.text(spine.chain);
    out.number(spine.tick);
    out.number(spine.origin.when.utc_s);
    out.number(std::int64_t{spine.origin.when.offset_min});
    for (const std::string* text :
         {&spine.origin.who, &spine.origin.machine, &spine.origin.tool, &spine.origin.device, &spine.previous})
        out.text(*text);
    if (const Kind* kind = kind_of(spine.kind))
        for (const Part& part : kind->parts) add_part(out, database, schema, spine.number, part);
    return sha256(out.bytes());
}

std::string append(const Database& database, std::int64_t number, std::string_view kind, const Origin& origin) {
    Spine spine{number, std::string{kind}, own_chain(database), next_tick(database), origin, heads(database), ""};
    spine.hash = content_hash(database, spine);
    database.run(fmt::format("INSERT INTO record ({}) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12)",
                             spine_columns),
                 spine.number, spine.kind, spine.chain, spine.tick, origin.when.utc_s,
                 std::int64_t{origin.when.offset_min}, origin.who, origin.machine, origin.tool, origin.device,
                 spine.previous, spine.hash);
    database.run("DELETE FROM head");
    database.run("INSERT INTO head (hash) VALUES (?1)", spine.hash);
    return spine.hash;
}

std::string hash_of(const Database& database, std::int64_t number) {
    return database.find_text("SELECT hash FROM record WHERE number = ?1", number).value_or("");
}

std::int64_t number_of(const Database& database, const std::string& hash) {
    if (hash.empty()) return 0;
    return database.find_integer("SELECT number FROM record WHERE hash = ?1", hash).value_or(0);
}

}  // namespace proofwalk::log
