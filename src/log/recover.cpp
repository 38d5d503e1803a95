#include "log/recover.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <fstream>

#include "log/durable_file.hpp"
#include "log/found_records.hpp"
#include "log/open_log.hpp"

namespace proofwalk::log {
namespace {

// A folder with copies of the damaged files; gone when the work is done.
class WorkingCopy {
public:
    WorkingCopy(const std::filesystem::path& damaged, const std::filesystem::path& into)
        : folder_(fmt::format("{}.{}.salvage", into.string(), ::getpid())) {
        std::error_code error;
        std::filesystem::remove_all(folder_, error);
        make_folder(folder_);
        copy_synced(damaged, file());
        const std::filesystem::path write_ahead = damaged.string() + "-wal";
        if (std::filesystem::exists(write_ahead, error)) copy_synced(write_ahead, file().string() + "-wal");
        take_in_write_ahead();
    }
    WorkingCopy(const WorkingCopy&) = delete;
    WorkingCopy& operator=(const WorkingCopy&) = delete;
    ~WorkingCopy() {
        std::error_code error;
        std::filesystem::remove_all(folder_, error);
    }
    [[nodiscard]] std::filesystem::path file() const { return folder_ / "copy.db"; }
    [[nodiscard]] std::filesystem::path scratch() const { return folder_ / "scratch.db"; }

private:
    // What was committed but not yet moved into the file itself.
    void take_in_write_ahead() const {
        if (checkpoint()) return;
        // The first page can't be read: that of a new log takes its place, and the write-ahead file may hold a better one.
        replace_first_page();
        (void)checkpoint();
    }
    [[nodiscard]] bool checkpoint() const {
        try {
            const Database database(file(), Access::write, std::chrono::seconds{1});
            database.checkpoint();
            return true;
        } catch (const StoreError&) {
            return false;
        }
    }
    void replace_first_page() const {
        const std::filesystem::path fresh = folder_ / "fresh.db";
        { const auto database = open_database(fresh, Mode::write, std::chrono::seconds{1}); }
        const auto bytes = bytes_of(fresh);
        if (!bytes || bytes->size() < 4096) return;
        std::fstream out(file(), std::ios::in | std::ios::out | std::ios::binary);
        out.write(reinterpret_cast<const char*>(bytes->data()), 4096);
    }

    std::filesystem::path folder_;
};

std::string account(const std::filesystem::path& damaged, const Recovered& recovered) {
    std::string text = fmt::format("recovered from {}: {} records", damaged.filename().string(), recovered.records);
    if (!recovered.lost.empty()) text += fmt::format(", {} lost", recovered.lost.size());
    for (const std::string& line : recovered.lost) text += "\nlost: " + line;
    return text;
}

}  // namespace

Result<Recovered> recover(const std::filesystem::path& damaged, const std::filesystem::path& into, const Origin& origin) {
    return as_result([&] {
        std::error_code error;
        if (!std::filesystem::is_regular_file(damaged, error))
            throw StoreError{{FaultKind::input, damaged.string(), "", "there is no such file", "check the path"}};
        Recovered recovered;
        {
            Assembly assembly(into);
            const WorkingCopy copy(damaged, into);
            const FoundRecords found(copy.file(), copy.scratch());
            recovered.lost = found.lost();
            for (const SourceRecord& record : found.proven()) recovered.records += assembly.add(record) ? 1 : 0;
            if (recovered.records == 0)
                throw StoreError{{FaultKind::log, damaged.string(), "", "no record of a log is left in it",
                                  "look for a copy; recordings beside it can be taken in again"}};
            recovered.missing_files = assembly.copy_files({takes_folder_of(damaged)});
            assembly.finish();
        }
        auto log = Log::open(into, Mode::write);
        if (!log) throw StoreError{std::move(log.error())};
        const auto noted = log->add_note({0, "log", account(damaged, recovered), false, origin.when, origin});
        if (!noted) throw StoreError{noted.error()};
        ++recovered.records;
        return recovered;
    });
}

}  // namespace proofwalk::log
