#include "log/found_records.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "log/page_scan.hpp"
#include "log/schema.hpp"

namespace proofwalk::log {
namespace {

constexpr std::int64_t most_misses = 2000;  // in a row, before no further record is expected

// The highest number that any table still tells.
std::int64_t highest_number(const Database& database) {
    std::int64_t highest = 0;
    const auto ask = [&](std::string_view table, std::string_view column) {
        try {
            highest = std::max(highest, database.find_integer(fmt::format("SELECT max({}) FROM {}", column, table)).value_or(0));
        } catch (const StoreError&) {
            // That table cannot tell.
        }
    };
    ask("record", "number");
    for (const Kind& kind : kinds())
        for (const Part& part : kind.parts) ask(part.table, "record");
    return highest;
}

// A table as rows of it look in a page.
struct Shape {
    std::string table;
    bool number_is_row_id = false;
    std::vector<std::string> types;
    std::vector<bool> may_be_null;
};

std::vector<Shape> shapes(const Database& scratch) {
    std::vector<Shape> list;
    const auto add = [&](std::string_view table, bool number_is_row_id) {
        Shape shape{std::string{table}, number_is_row_id, {}, {}};
        Statement columns = scratch.prepare("SELECT type, \"notnull\" FROM pragma_table_info(?1) ORDER BY cid");
        columns.bind(table);
        while (columns.step()) {
            shape.types.push_back(columns.text(0));
            shape.may_be_null.push_back(columns.integer(1) == 0);
        }
        list.push_back(std::move(shape));
    };
    add("record", true);
    for (const Kind& kind : kinds())
        for (const Part& part : kind.parts) add(part.table, !part.many);
    return list;
}

bool fits(const FoundValue& value, const std::string& type, bool may_be_null) {
    if (std::holds_alternative<std::monostate>(value)) return may_be_null;
    if (type == "TEXT") return std::holds_alternative<std::string>(value);
    if (type == "BLOB") return std::holds_alternative<std::vector<std::byte>>(value);
    if (type == "REAL") return std::holds_alternative<double>(value) || std::holds_alternative<std::int64_t>(value);
    return std::holds_alternative<std::int64_t>(value);
}

bool fits(const FoundRow& row, const Shape& shape) {
    if (row.values.size() != shape.types.size()) return false;
    const std::size_t first = shape.number_is_row_id ? 1 : 0;  // a row id is not stored a second time
    if (shape.number_is_row_id && !std::holds_alternative<std::monostate>(row.values[0])) return false;
    for (std::size_t column = first; column < row.values.size(); ++column)
        if (!fits(row.values[column], shape.types[column], shape.may_be_null[column])) return false;
    return true;
}

void insert(const Database& scratch, const Shape& shape, const FoundRow& row) {
    std::string places;
    for (std::size_t column = 0; column < row.values.size(); ++column) places += (column == 0 ? "?" : ", ?");
    Statement statement = scratch.prepare(fmt::format("INSERT OR IGNORE INTO {} VALUES ({})", shape.table, places));
    for (std::size_t column = 0; column < row.values.size(); ++column) {
        if (column == 0 && shape.number_is_row_id)
            statement.bind(row.row_id);
        else
            std::visit(
                [&](const auto& value) {
                    if constexpr (std::is_same_v<std::decay_t<decltype(value)>, std::monostate>)
                        statement.bind(std::optional<double>{});
                    else
                        statement.bind(value);
                },
                row.values[column]);
    }
    statement.step();
}

// Rows found in the pages, in a database of their own with the tables of a log. A row goes wherever it fits; only the
// table of its record's kind is read later, and the hash decides.
std::unique_ptr<Database> from_pages(const std::filesystem::path& copy, const std::filesystem::path& scratch_file) {
    auto scratch = std::make_unique<Database>(scratch_file, Access::create, std::chrono::milliseconds{0});
    scratch->execute("PRAGMA synchronous = OFF");
    scratch->execute("PRAGMA foreign_keys = OFF");
    scratch->execute("BEGIN");
    make_schema(*scratch);
    const std::vector<Shape> known = shapes(*scratch);
    scan_pages(copy, [&](const FoundRow& row) {
        for (const Shape& shape : known)
            if (fits(row, shape)) insert(*scratch, shape, row);
    });
    scratch->execute("COMMIT");
    return scratch;
}

std::string described(const SourceRecord& record) {
    std::string text = fmt::format("record {}: {}, {}", record.spine.number, record.spine.kind, to_text(record.spine.origin.when));
    if (!record.spine.origin.who.empty()) text += ", by " + record.spine.origin.who;
    if (record.spine.kind != "take") return text;
    try {
        Statement row = record.database->prepare("SELECT label, sha256 FROM take WHERE record = ?1");
        row.bind(record.spine.number);
        if (row.step()) text += fmt::format(", take {} (recording {}...)", row.text(0), row.text(1).substr(0, 16));
    } catch (const StoreError&) {
        // Nothing more is known.
    }
    return text;
}

std::vector<std::string> parents(const Spine& spine) {
    std::vector<std::string> hashes;
    for (std::size_t at = 0; at < spine.previous.size(); at += 65) hashes.push_back(spine.previous.substr(at, 64));
    return hashes;
}

}  // namespace

FoundRecords::FoundRecords(const std::filesystem::path& copy, const std::filesystem::path& scratch) {
    try {
        databases_.push_back(std::make_unique<Database>(copy, Access::read, std::chrono::seconds{1}));
        look(*databases_.back());
    } catch (const StoreError&) {
        // The database tells nothing: the pages have to.
    }
    // Also when nothing seems to be missing: the highest record itself may be.
    databases_.push_back(from_pages(copy, scratch));
    look(*databases_.back());
}

void FoundRecords::look(const Database& database) {
    const std::int64_t highest = highest_number(database);
    std::int64_t misses = 0;
    for (std::int64_t number = 1; number <= highest || (highest == 0 && misses < most_misses); ++number) {
        try {
            Statement row = database.prepare(fmt::format("SELECT {} FROM record WHERE number = ?1", spine_columns));
            row.bind(number);
            if (!row.step()) {
                ++misses;
                continue;
            }
            misses = 0;
            const SourceRecord record{spine_from(row), &database};
            if (proven_.contains(record.spine.hash)) continue;
            seen_[record.spine.hash] = record;
            if (content_hash(database, record.spine) == record.spine.hash) proven_[record.spine.hash] = record;
        } catch (const StoreError&) {
            ++misses;
        }
    }
}

std::vector<SourceRecord> FoundRecords::proven() const {
    std::vector<SourceRecord> list;
    for (const auto& [hash, record] : proven_) list.push_back(record);
    sort_records(list);
    return list;
}

std::vector<std::string> FoundRecords::lost() const {
    std::vector<SourceRecord> damaged;
    std::set<std::string> unknown;
    for (const auto& [hash, record] : seen_)
        if (!proven_.contains(hash)) damaged.push_back(record);
    for (const auto& [hash, record] : proven_)
        for (const std::string& parent : parents(record.spine))
            if (!proven_.contains(parent) && !seen_.contains(parent)) unknown.insert(parent);
    sort_records(damaged);
    std::vector<std::string> lines;
    for (const SourceRecord& record : damaged) lines.push_back(described(record));
    for (const std::string& hash : unknown)
        lines.push_back(fmt::format("a record of which only the hash is left ({}...)", hash.substr(0, 16)));
    return lines;
}

}  // namespace proofwalk::log
