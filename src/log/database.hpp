// SQLite held by objects: a database, a statement, a transaction. Failures are thrown as StoreError with the reason told
// apart (full disk, read-only, in use, damaged, not a log).
#pragma once

#include <chrono>
#include <cstdint>
#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "log/store_error.hpp"

struct sqlite3;
struct sqlite3_stmt;

namespace proofwalk::log {

enum class ColumnType { null, integer, real, text, blob };

class Statement {
public:
    Statement(sqlite3* connection, std::string file, std::string_view sql);
    Statement(Statement&& other) noexcept;
    Statement& operator=(Statement&&) = delete;
    ~Statement();

    // Binds the next parameter, from the first on.
    Statement& bind(std::int64_t value);
    Statement& bind(int value) { return bind(std::int64_t{value}); }
    Statement& bind(double value);
    Statement& bind(std::string_view value);
    Statement& bind(const char* value) { return bind(std::string_view{value}); }
    Statement& bind(const std::string& value) { return bind(std::string_view{value}); }
    Statement& bind(std::span<const std::byte> value);
    Statement& bind(const std::vector<std::byte>& value) { return bind(std::span<const std::byte>{value}); }
    Statement& bind(std::optional<double> value);

    Statement& bind_value_of(const Statement& row, int column);  // whatever type it has

    // True while there is a row.
    bool step();
    void restart();  // ready to be bound and run again

    [[nodiscard]] int columns() const;
    [[nodiscard]] ColumnType type(int column) const;
    [[nodiscard]] std::int64_t integer(int column) const;
    [[nodiscard]] double real(int column) const;
    [[nodiscard]] std::optional<double> maybe_real(int column) const;
    [[nodiscard]] std::string text(int column) const;
    [[nodiscard]] std::span<const std::byte> blob(int column) const;  // until the next step

private:
    [[noreturn]] void fail() const;
    void check(int code) const;

    sqlite3* connection_;
    std::string file_;
    sqlite3_stmt* statement_ = nullptr;
    int next_parameter_ = 1;
};

enum class Access {
    read,       // changes nothing; sees what other programs add
    immutable,  // a file in a place where nothing can be written, not even SQLite's own helper files
    write,      // the file must be there
    create,
};

class Database {
public:
    Database(const std::filesystem::path& file, Access access, std::chrono::milliseconds wait);
    Database(Database&&) = delete;
    Database& operator=(Database&&) = delete;
    ~Database();

    void execute(const std::string& sql) const;
    void checkpoint() const;  // moves the write-ahead file into the database, without looking at its tables
    [[nodiscard]] Statement prepare(std::string_view sql) const { return {connection_, file_, sql}; }
    [[nodiscard]] std::int64_t pragma(std::string_view name) const;

    // One statement with its parameters, run to its end.
    template <class... Values>
    void run(std::string_view sql, const Values&... values) const {
        Statement statement = prepare(sql);
        (statement.bind(values), ...);
        while (statement.step()) {
        }
    }
    // First column of the first row; nothing when there is no row or it is null.
    template <class... Values>
    [[nodiscard]] std::optional<std::int64_t> find_integer(std::string_view sql, const Values&... values) const {
        Statement statement = prepare(sql);
        (statement.bind(values), ...);
        if (!statement.step() || statement.type(0) == ColumnType::null) return std::nullopt;
        return statement.integer(0);
    }
    template <class... Values>
    [[nodiscard]] std::optional<std::string> find_text(std::string_view sql, const Values&... values) const {
        Statement statement = prepare(sql);
        (statement.bind(values), ...);
        if (!statement.step() || statement.type(0) == ColumnType::null) return std::nullopt;
        return statement.text(0);
    }

    [[nodiscard]] const std::string& file() const { return file_; }
    [[nodiscard]] sqlite3* connection() const { return connection_; }

private:
    std::string file_;
    sqlite3* connection_ = nullptr;
};

// Takes the right to write at once, so that what is read inside stays true; undone unless committed.
class Transaction {
public:
    explicit Transaction(const Database& database);
    Transaction(const Transaction&) = delete;
    Transaction& operator=(const Transaction&) = delete;
    ~Transaction();
    void commit();

private:
    const Database& database_;
    bool open_ = true;
};

// Reads of several statements that must fit together.
class Snapshot {
public:
    explicit Snapshot(const Database& database);
    Snapshot(const Snapshot&) = delete;
    Snapshot& operator=(const Snapshot&) = delete;
    ~Snapshot();

private:
    const Database& database_;
};

[[nodiscard]] Fault damaged(const std::string& file, std::string_view what);

}  // namespace proofwalk::log
