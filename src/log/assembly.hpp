// A new log put together from records of others, each with the hash and the chain that it was born with.
#pragma once

#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "log/chain.hpp"
#include "log/database.hpp"

namespace proofwalk::log {

// A record and where its parts are to be read.
struct SourceRecord {
    Spine spine;
    const Database* database = nullptr;
};

// All spines of a log, in its order.
[[nodiscard]] std::vector<SourceRecord> records_of(const Database& database);

// The order of every log: by the moment when a record was made, then by hash. It keeps each chain's own order, and it
// depends on nothing but the records themselves.
void sort_records(std::vector<SourceRecord>& records);

// A log that has its name only when it is complete.
class Assembly {
public:
    explicit Assembly(const std::filesystem::path& file);  // refused when there is a file already
    Assembly(const Assembly&) = delete;
    Assembly& operator=(const Assembly&) = delete;
    ~Assembly();

    // Copies one record under the next number. False, and nothing is written, when a part of it cannot be read or its
    // content is not what its hash says.
    [[nodiscard]] bool add(const SourceRecord& record);
    // Copies the files that the records name from other folders; gives the names that none of them has.
    [[nodiscard]] std::vector<std::string> copy_files(const std::vector<std::filesystem::path>& folders);
    // Puts the books in order and gives the log its name.
    void finish();

    [[nodiscard]] const Database& database() const { return *database_; }

private:
    std::filesystem::path file_, part_;
    std::unique_ptr<Database> database_;
    std::int64_t number_ = 0;
};

}  // namespace proofwalk::log
