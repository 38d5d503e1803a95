#include "log/open_log.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <array>
#include <fstream>

#include "log/durable_file.hpp"
#include "log/raw_store.hpp"
#include "log/schema.hpp"

namespace proofwalk::log {
namespace {

constexpr std::string_view database_beginning{"SQLite format 3\0", 16};

[[noreturn]] void refuse(const std::filesystem::path& file, std::string reason, std::string remedy) {
    throw StoreError{{FaultKind::log, file.string(), "", std::move(reason), std::move(remedy)}};
}

[[noreturn]] void not_a_log(const std::filesystem::path& file, std::string_view what) {
    refuse(file, fmt::format("not a log: {}", what), "name the log of the show, or another file to begin one");
}

// What the file system tells before SQLite is asked.
void check_file(const std::filesystem::path& file, Mode mode) {
    std::error_code error;
    const auto status = std::filesystem::status(file, error);
    if (!std::filesystem::exists(status)) {
        if (mode == Mode::read) refuse(file, "there is no log here", "check the path, or begin a log by storing a take in it");
        return;
    }
    if (!std::filesystem::is_regular_file(status)) not_a_log(file, "it is no file");
    std::ifstream in(file, std::ios::binary);
    if (!in) refuse(file, "no permission to read the log", "allow reading it");
    std::array<char, 16> beginning{};
    in.read(beginning.data(), beginning.size());
    // An empty file is what an interrupted beginning leaves behind.
    if (in.gcount() == 0) return;
    if (std::string_view(beginning.data(), static_cast<std::size_t>(in.gcount())) != database_beginning)
        not_a_log(file, "it is another kind of file, or its first bytes are damaged");
}

std::filesystem::path folder_of(const std::filesystem::path& file) {
    const std::filesystem::path folder = file.parent_path();
    return folder.empty() ? "." : folder;
}

bool writable(const std::filesystem::path& file) {
    return ::access(file.c_str(), W_OK) == 0 && ::access(folder_of(file).c_str(), W_OK) == 0;
}

bool holds_bytes(const std::filesystem::path& file) {
    std::error_code error;
    const auto size = std::filesystem::file_size(file, error);
    return !error && size > 0;
}

std::unique_ptr<Database> connect(const std::filesystem::path& file, Mode mode, std::chrono::milliseconds wait) {
    std::error_code error;
    const bool there = std::filesystem::exists(file, error);
    if (mode == Mode::write) {
        const std::filesystem::path folder = folder_of(file);
        const bool folder_there = std::filesystem::exists(folder, error);
        if (there ? !writable(file) : folder_there && ::access(folder.c_str(), W_OK) != 0)
            refuse(file, "the log or its folder is read-only", "allow writing there or copy the log elsewhere");
        return std::make_unique<Database>(file, there ? Access::write : Access::create, wait);
    }
    // A reader that may write leaves no helper files behind.
    if (writable(file)) return std::make_unique<Database>(file, Access::write, wait);
    const std::filesystem::path write_ahead = file.string() + "-wal";
    if (!holds_bytes(write_ahead)) return std::make_unique<Database>(file, Access::immutable, wait);
    return std::make_unique<Database>(file, Access::read, wait);
}

bool has_no_tables(const Database& database) {
    return database.find_integer("SELECT count(*) FROM sqlite_schema").value_or(0) == 0;
}

void begin_log(const Database& database) {
    Transaction transaction(database);
    if (!has_no_tables(database)) return;  // another process was faster
    make_schema(database);
    transaction.commit();
}

void check_identity(const Database& database, const std::filesystem::path& file) {
    if (database.pragma("application_id") != application_id) not_a_log(file, "it is a database of another program");
    const std::int64_t version = database.pragma("user_version");
    if (version > schema_version)
        refuse(file, fmt::format("written by a newer version of proofwalk (schema {}, known up to {})", version, schema_version),
               "use that version; the file was left as it is");
    if (version < oldest_schema_version) refuse(file, fmt::format("schema {} is not known", version), "run the audit on a copy");
}

}  // namespace

std::filesystem::path takes_folder_of(const std::filesystem::path& file) {
    return file.string() + ".takes";
}

std::unique_ptr<Database> open_database(const std::filesystem::path& file, Mode mode, std::chrono::milliseconds wait,
                                        Tables tables) {
    check_file(file, mode);
    auto database = connect(file, mode, wait);
    if (has_no_tables(*database)) {
        if (mode == Mode::read || database->pragma("application_id") != 0)
            not_a_log(file, "it is empty: no record was ever stored in it");
        database->execute("PRAGMA journal_mode = WAL");
        begin_log(*database);
        sync_folder(folder_of(file));
    }
    check_identity(*database, file);
    if (mode == Mode::write) {
        database->execute("PRAGMA journal_mode = WAL");
        if (database->pragma("user_version") < schema_version) {
            Transaction transaction(*database);
            migrate(*database);
            transaction.commit();
        }
        remove_half_written(takes_folder_of(file));
    }
    if (tables == Tables::as_made &&
        schema_text(*database) != expected_schema_text(static_cast<int>(database->pragma("user_version"))))
        refuse(file, "its tables are not those of a log: another program changed them",
               "keep the file as it is and recover what it holds into a new log");
    if (mode == Mode::read) {
        stand_in_for_missing_tables(*database);
        database->execute("PRAGMA query_only = ON");
    }
    return database;
}

StoreError damaged_record(const Database& database, std::int64_t number, std::string_view what) {
    StoreError error{damaged(database.file(), what)};
    error.fault.place = fmt::format("record {}", number);
    return error;
}

}  // namespace proofwalk::log
