#include "log/database.hpp"

#include <fmt/format.h>
#include <sqlite3.h>

#include <cerrno>
#include <cstring>

namespace proofwalk::log {
namespace {

constexpr std::string_view nothing_lost = "everything logged before is safe";

Fault fault_of(sqlite3* connection, const std::string& file) {
    const int extended = connection ? sqlite3_extended_errcode(connection) : SQLITE_NOMEM;
    const int system_error = connection ? sqlite3_system_errno(connection) : 0;
    const auto told = [&](std::string reason, std::string remedy) {
        return Fault{FaultKind::log, file, "", std::move(reason), std::move(remedy)};
    };
    const std::string full_remedy = fmt::format("free some space and do it again; {}", nothing_lost);
    switch (extended & 0xff) {
        case SQLITE_BUSY:
        case SQLITE_LOCKED:
            return told("in use by another process", "wait until it has finished or close it, then do it again");
        case SQLITE_FULL: return told("the disk is full", full_remedy);
        case SQLITE_READONLY:
            return told("the log or its folder is read-only", "allow writing there or copy the log elsewhere");
        case SQLITE_PERM:
        case SQLITE_AUTH: return told("no permission to open the log", "allow reading and writing it");
        case SQLITE_CORRUPT: return damaged(file, sqlite3_errmsg(connection));
        case SQLITE_NOTADB: return damaged(file, "its first page is no database page");
        case SQLITE_CANTOPEN:
            if (system_error == EACCES || system_error == EROFS || system_error == EPERM)
                return told("the log or its folder is read-only", "allow writing there or copy the log elsewhere");
            return told(fmt::format("cannot be opened ({})",
                                    system_error ? std::strerror(system_error) : sqlite3_errmsg(connection)),
                        "check the path and that its folder is there");
        case SQLITE_IOERR:
            if (system_error == ENOSPC || system_error == EDQUOT) return told("the disk is full", full_remedy);
            return told(fmt::format("the disk failed ({}, {})", sqlite3_errmsg(connection),
                                    system_error ? std::strerror(system_error) : "no reason given"),
                        "copy the log to another disk before going on");
        case SQLITE_NOMEM: return told("out of memory", "close other programs and do it again");
        case SQLITE_CONSTRAINT:
            return told(fmt::format("refused by the log: {}", sqlite3_errmsg(connection)),
                        "run the audit, the log may have been changed by another program");
        default:
            return told(fmt::format("{} (SQLite {})", sqlite3_errmsg(connection), extended),
                        "run the audit, the log may have been changed by another program");
    }
}

}  // namespace

Fault damaged(const std::string& file, std::string_view what) {
    return {FaultKind::log, file, "", fmt::format("the log is damaged: {}", what),
            "keep the file as it is and recover what it holds into a new log"};
}

Statement::Statement(sqlite3* connection, std::string file, std::string_view sql)
    : connection_(connection), file_(std::move(file)) {
    check(sqlite3_prepare_v2(connection, sql.data(), static_cast<int>(sql.size()), &statement_, nullptr));
}

Statement::Statement(Statement&& other) noexcept
    : connection_(other.connection_), file_(std::move(other.file_)),
      statement_(std::exchange(other.statement_, nullptr)), next_parameter_(other.next_parameter_) {}

Statement::~Statement() { sqlite3_finalize(statement_); }

void Statement::fail() const { throw StoreError{fault_of(connection_, file_)}; }

void Statement::check(int code) const {
    if (code != SQLITE_OK) fail();
}

Statement& Statement::bind(std::int64_t value) {
    check(sqlite3_bind_int64(statement_, next_parameter_++, value));
    return *this;
}

Statement& Statement::bind(double value) {
    check(sqlite3_bind_double(statement_, next_parameter_++, value));
    return *this;
}

Statement& Statement::bind(std::string_view value) {
    check(sqlite3_bind_text64(statement_, next_parameter_++, value.data() ? value.data() : "", value.size(),
                              SQLITE_TRANSIENT, SQLITE_UTF8));
    return *this;
}

Statement& Statement::bind(std::span<const std::byte> value) {
    // A null pointer would bind NULL: an empty blob still is a blob.
    const void* data = value.empty() ? "" : static_cast<const void*>(value.data());
    check(sqlite3_bind_blob64(statement_, next_parameter_++, data, value.size(), SQLITE_TRANSIENT));
    return *this;
}

Statement& Statement::bind(std::optional<double> value) {
    if (value) return bind(*value);
    check(sqlite3_bind_null(statement_, next_parameter_++));
    return *this;
}

Statement& Statement::bind_value_of(const Statement& row, int column) {
    check(sqlite3_bind_value(statement_, next_parameter_++, sqlite3_column_value(row.statement_, column)));
    return *this;
}

bool Statement::step() {
    const int code = sqlite3_step(statement_);
    if (code == SQLITE_ROW) return true;
    if (code != SQLITE_DONE) fail();
    return false;
}

void Statement::restart() {
    sqlite3_reset(statement_);
    next_parameter_ = 1;
}

int Statement::columns() const { return sqlite3_column_count(statement_); }

ColumnType Statement::type(int column) const {
    switch (sqlite3_column_type(statement_, column)) {
        case SQLITE_INTEGER: return ColumnType::integer;
        case SQLITE_FLOAT: return ColumnType::real;
        case SQLITE_TEXT: return ColumnType::text;
        case SQLITE_BLOB: return ColumnType::blob;
        default: return ColumnType::null;
    }
}

std::int64_t Statement::integer(int column) const { return sqlite3_column_int64(statement_, column); }
double Statement::real(int column) const { return sqlite3_column_double(statement_, column); }

std::optional<double> Statement::maybe_real(int column) const {
    if (type(column) == ColumnType::null) return std::nullopt;
    return real(column);
}

std::string Statement::text(int column) const {
    const unsigned char* data = sqlite3_column_text(statement_, column);
    if (!data) return {};
    return {reinterpret_cast<const char*>(data), static_cast<std::size_t>(sqlite3_column_bytes(statement_, column))};
}

std::span<const std::byte> Statement::blob(int column) const {
    const void* data = sqlite3_column_blob(statement_, column);
    return {static_cast<const std::byte*>(data), static_cast<std::size_t>(sqlite3_column_bytes(statement_, column))};
}

Database::Database(const std::filesystem::path& file, Access access, std::chrono::milliseconds wait)
    : file_(file.string()) {
    int flags = SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_EXRESCODE;
    std::string name = file_;
    switch (access) {
        case Access::read: flags |= SQLITE_OPEN_READONLY; break;
        case Access::immutable: {
            flags |= SQLITE_OPEN_READONLY | SQLITE_OPEN_URI;
            name = "file:";
            for (const char c : file_)
                name += c == '%' || c == '?' || c == '#' ? fmt::format("%{:02x}", static_cast<unsigned char>(c))
                                                         : std::string(1, c);
            name += "?immutable=1";
            break;
        }
        case Access::write: flags |= SQLITE_OPEN_READWRITE; break;
        case Access::create: flags |= SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE; break;
    }
    if (sqlite3_open_v2(name.c_str(), &connection_, flags, nullptr) != SQLITE_OK) {
        StoreError error{fault_of(connection_, file_)};
        sqlite3_close_v2(connection_);
        throw error;
    }
    try {
        sqlite3_busy_timeout(connection_, static_cast<int>(wait.count()));
        // A log can come from a stranger: its schema may run nothing, and damaged pages are looked at twice.
        sqlite3_db_config(connection_, SQLITE_DBCONFIG_DEFENSIVE, 1, nullptr);
        sqlite3_db_config(connection_, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, nullptr);
        execute("PRAGMA cell_size_check = ON");
        execute("PRAGMA foreign_keys = ON");
        execute("PRAGMA recursive_triggers = ON");  // so that REPLACE meets the triggers against DELETE
        execute("PRAGMA synchronous = FULL");
        execute("PRAGMA mmap_size = 0");  // a failing disk is an error then, not a crash
    } catch (...) {
        sqlite3_close_v2(connection_);
        throw;
    }
}

// v2: closes as soon as the last statement is gone, in whatever order members end.
Database::~Database() { sqlite3_close_v2(connection_); }

void Database::execute(const std::string& sql) const {
    if (sqlite3_exec(connection_, sql.c_str(), nullptr, nullptr, nullptr) != SQLITE_OK)
        throw StoreError{fault_of(connection_, file_)};
}

void Database::checkpoint() const {
    if (sqlite3_wal_checkpoint_v2(connection_, nullptr, SQLITE_CHECKPOINT_TRUNCATE, nullptr, nullptr) != SQLITE_OK)
        throw StoreError{fault_of(connection_, file_)};
}

std::int64_t Database::pragma(std::string_view name) const {
    return find_integer(fmt::format("PRAGMA {}", name)).value_or(0);
}

Transaction::Transaction(const Database& database) : database_(database) { database_.execute("BEGIN IMMEDIATE"); }

Transaction::~Transaction() {
    // After some failures SQLite has rolled back by itself; then this does nothing.
    if (open_) sqlite3_exec(database_.connection(), "ROLLBACK", nullptr, nullptr, nullptr);
}

void Transaction::commit() {
    database_.execute("COMMIT");
    open_ = false;
}

Snapshot::Snapshot(const Database& database) : database_(database) { database_.execute("BEGIN"); }
Snapshot::~Snapshot() { sqlite3_exec(database_.connection(), "COMMIT", nullptr, nullptr, nullptr); }

}  // namespace proofwalk::log
