// Rows found in the pages of a database file without its help: for a log whose inner pages are damaged. The layout is
// that of "Database File Format", sqlite.org/fileformat2.html, from memory.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <string>
#include <variant>
#include <vector>

namespace proofwalk::log {

using FoundValue = std::variant<std::monostate, std::int64_t, double, std::string, std::vector<std::byte>>;

struct FoundRow {
    std::int64_t row_id = 0;  // 0 for tables without one
    std::vector<FoundValue> values;
};

// Calls take(row) for everything that looks like a row, page by page; what is damaged is passed over.
void scan_pages(const std::filesystem::path& file, const std::function<void(const FoundRow&)>& take);

}  // namespace proofwalk::log
