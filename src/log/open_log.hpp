// The open file behind a Log, and what every room of this folder needs of it.
#pragma once

#include <filesystem>
#include <memory>

#include "log/chain.hpp"
#include "log/database.hpp"
#include "log/log.hpp"

namespace proofwalk::log {

struct Log::Impl {
    std::filesystem::path file;
    Mode mode = Mode::read;
    std::unique_ptr<Database> database;

    [[nodiscard]] const Database& db() const { return *database; }
    [[nodiscard]] std::filesystem::path takes_folder() const;

    // One record: `write_parts(number)` writes its parts, then it is closed, chained and committed. Gives its hash.
    template <class WriteParts>
    std::string add(std::string_view kind, const Origin& origin, WriteParts write_parts) const;
};

// Whether tables that another program changed are refused at once (the audit looks further).
enum class Tables { as_made, any };

// Opens or makes the database of a log and proves that it is one. Throws StoreError.
[[nodiscard]] std::unique_ptr<Database> open_database(const std::filesystem::path& file, Mode mode,
                                                      std::chrono::milliseconds wait, Tables tables = Tables::as_made);
[[nodiscard]] std::filesystem::path takes_folder_of(const std::filesystem::path& file);

// A fault inside one record: "record 12, take".
[[nodiscard]] StoreError damaged_record(const Database& database, std::int64_t number, std::string_view what);

template <class WriteParts>
std::string Log::Impl::add(std::string_view kind, const Origin& origin, WriteParts write_parts) const {
    Transaction transaction(db());
    const std::int64_t number = next_number(db());
    write_parts(number);
    std::string hash = append(db(), number, kind, origin);
    transaction.commit();
    return hash;
}

}  // namespace proofwalk::log
