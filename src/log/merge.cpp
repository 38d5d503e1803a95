#include "log/merge.hpp"

#include <fmt/format.h>

#include <memory>
#include <unordered_map>

#include "log/assembly.hpp"
#include "log/audit.hpp"
#include "log/merge_conflicts.hpp"
#include "log/open_log.hpp"

namespace proofwalk::log {
namespace {

void refuse_unsound(const std::filesystem::path& file) {
    auto result = audit(file, {"", false});
    if (!result) throw StoreError{std::move(result.error())};
    if (!result->sound())
        throw StoreError{{FaultKind::log, file.string(), "",
                          fmt::format("does not pass its audit: {}", result->findings.front().says),
                          "recover it into a new log first, then merge that"}};
}

}  // namespace

Result<Merged> merge(const std::vector<std::filesystem::path>& sources, const std::filesystem::path& into) {
    return as_result([&] {
        Assembly assembly(into);
        std::vector<std::unique_ptr<Database>> databases;
        std::vector<std::filesystem::path> folders;
        std::vector<SourceRecord> records;
        std::unordered_map<std::string, std::vector<std::size_t>> holders;  // sources of a record, by hash
        for (const auto& file : sources) {
            refuse_unsound(file);
            databases.push_back(open_database(file, Mode::read, std::chrono::seconds{5}));
            folders.push_back(takes_folder_of(file));
            for (SourceRecord& record : records_of(*databases.back())) {
                auto& held = holders[record.spine.hash];
                if (held.empty()) records.push_back(std::move(record));
                if (held.empty() || held.back() != databases.size() - 1) held.push_back(databases.size() - 1);
            }
        }
        sort_records(records);
        Merged merged;
        merged.added.resize(sources.size());
        for (const SourceRecord& record : records) {
            if (!assembly.add(record))
                throw StoreError{damaged(record.database->file(), fmt::format("record {} cannot be copied", record.spine.number))};
            const auto& held = holders.at(record.spine.hash);
            if (held.size() > 1)
                ++merged.shared;
            else
                ++merged.added[held.front()];
        }
        merged.records = static_cast<std::int64_t>(records.size());
        merged.missing_files = assembly.copy_files(folders);
        merged.conflicts = conflicts_between(sources);
        assembly.finish();
        return merged;
    });
}

}  // namespace proofwalk::log
