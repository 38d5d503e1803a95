#include "log/assembly.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <tuple>

#include "log/durable_file.hpp"
#include "log/open_log.hpp"
#include "log/schema.hpp"

namespace proofwalk::log {
namespace {

void copy_part(const Database& source, std::int64_t from, const Database& target, std::int64_t to, const Part& part) {
    Statement rows = source.prepare(fmt::format("SELECT {} FROM {} WHERE record = ?1", part.columns, part.table));
    rows.bind(from);
    std::string places;
    for (int column = 0; column < rows.columns(); ++column) places += fmt::format(", ?{}", column + 2);
    Statement insert =
        target.prepare(fmt::format("INSERT INTO {} (record, {}) VALUES (?1{})", part.table, part.columns, places));
    while (rows.step()) {
        insert.restart();
        insert.bind(to);
        for (int column = 0; column < rows.columns(); ++column) insert.bind_value_of(rows, column);
        insert.step();
    }
}

void insert_spine(const Database& target, const Spine& spine) {
    target.run(fmt::format("INSERT INTO record ({}) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12)", spine_columns),
               spine.number, spine.kind, spine.chain, spine.tick, spine.origin.when.utc_s,
               std::int64_t{spine.origin.when.offset_min}, spine.origin.who, spine.origin.machine, spine.origin.tool,
               spine.origin.device, spine.previous, spine.hash);
}

void remove_database(const std::filesystem::path& file) {
    for (const char* suffix : {"", "-journal", "-wal", "-shm"}) ::unlink((file.string() + suffix).c_str());
}

}  // namespace

std::vector<SourceRecord> records_of(const Database& database) {
    std::vector<SourceRecord> records;
    Statement rows = database.prepare(fmt::format("SELECT {} FROM record ORDER BY number", spine_columns));
    while (rows.step()) records.push_back({spine_from(rows), &database});
    return records;
}

void sort_records(std::vector<SourceRecord>& records) {
    std::ranges::sort(records, [](const SourceRecord& first, const SourceRecord& second) {
        return std::tie(first.spine.tick, first.spine.hash) < std::tie(second.spine.tick, second.spine.hash);
    });
}

Assembly::Assembly(const std::filesystem::path& file)
    : file_(file), part_(fmt::format("{}.{}.part", file.string(), ::getpid())) {
    std::error_code error;
    if (std::filesystem::exists(file, error))
        throw StoreError{{FaultKind::input, file.string(), "", "there is a file already", "name a new one"}};
    remove_database(part_);
    database_ = std::make_unique<Database>(part_, Access::create, std::chrono::milliseconds{0});
    // Nothing depends on this file before it has its name: it is synced as a whole at the end.
    database_->execute("PRAGMA synchronous = OFF");
    database_->execute("BEGIN");
    make_schema(*database_);
}

Assembly::~Assembly() {
    database_.reset();
    remove_database(part_);
}

bool Assembly::add(const SourceRecord& record) {
    const Kind* kind = kind_of(record.spine.kind);
    if (!kind) return false;
    Spine spine = record.spine;
    spine.number = number_ + 1;
    database_->execute("SAVEPOINT one_record");
    bool whole = false;
    try {
        for (const Part& part : kind->parts)
            copy_part(*record.database, record.spine.number, *database_, spine.number, part);
        insert_spine(*database_, spine);
        whole = content_hash(*database_, spine) == spine.hash;
    } catch (const StoreError&) {
        whole = false;  // named by the caller
    }
    if (!whole) database_->execute("ROLLBACK TO one_record");
    database_->execute("RELEASE one_record");
    if (whole) ++number_;
    return whole;
}

std::vector<std::string> Assembly::copy_files(const std::vector<std::filesystem::path>& folders) {
    std::vector<std::string> missing;
    const std::filesystem::path target = takes_folder_of(file_);
    Statement rows = database_->prepare("SELECT name FROM raw_file UNION SELECT stored_as FROM attachment ORDER BY 1");
    bool any = false;
    while (rows.step()) {
        const std::string name = rows.text(0);
        // A name with a way in it was not given by a log: it must not lead out of the folder.
        const bool plain = name.find('/') == std::string::npos && name != "..";
        const auto found = std::ranges::find_if(folders, [&](const std::filesystem::path& folder) {
            std::error_code error;
            return plain && std::filesystem::is_regular_file(folder / name, error);
        });
        if (found == folders.end()) {
            missing.push_back(name);
            continue;
        }
        if (!any) make_folder(target);
        any = true;
        copy_synced(*found / name, target / name);
    }
    if (any) sync_folder(target);
    return missing;
}

void Assembly::finish() {
    std::vector<std::string> named, hashes;
    Statement rows = database_->prepare("SELECT previous, hash FROM record");
    while (rows.step()) {
        const std::string previous = rows.text(0);
        for (std::size_t at = 0; at < previous.size(); at += 65) named.push_back(previous.substr(at, 64));
        hashes.push_back(rows.text(1));
    }
    std::ranges::sort(named);
    for (const std::string& hash : hashes)
        if (!std::ranges::binary_search(named, hash)) database_->run("INSERT INTO head (hash) VALUES (?1)", hash);
    database_->execute("COMMIT");
    database_->execute("PRAGMA journal_mode = WAL");
    database_.reset();
    sync_file(part_);
    if (::rename(part_.c_str(), file_.c_str()) != 0)
        throw StoreError{{FaultKind::log, file_.string(), "", "cannot be given its name", "check the disk and do it again"}};
    const std::filesystem::path folder = file_.parent_path();
    sync_folder(folder.empty() ? "." : folder);
}

}  // namespace proofwalk::log
