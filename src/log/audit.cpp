#include "log/audit.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <limits>
#include <map>
#include <set>
#include <unordered_map>

#include "log/chain.hpp"
#include "log/open_log.hpp"
#include "log/raw_store.hpp"

namespace proofwalk::log {
namespace {

std::vector<std::string> parents_of(const Spine& spine) {
    std::vector<std::string> parents;
    for (std::size_t at = 0; at < spine.previous.size(); at += 65) parents.push_back(spine.previous.substr(at, 64));
    return parents;
}

std::string described(const Spine& spine) {
    return fmt::format("record {} ({}, {}, by {})", spine.number, spine.kind, to_text(spine.origin.when),
                       spine.origin.who.empty() ? "nobody named" : spine.origin.who);
}

class Auditor {
public:
    Auditor(const Database& database, const std::filesystem::path& file) : db_(database), file_(file) {}

    Audit run(const AuditRequest& request) {
        check_pages();
        check_tables();
        load();
        for (const Spine& spine : spines_) check_record(spine);
        check_order();
        check_stray_rows();
        check_heads();
        find_forks();
        if (!request.against.empty()) check_anchor(request.against);
        if (request.recordings) check_recordings();
        // A finding without a record number concerns the log as a whole and comes last.
        std::ranges::stable_sort(audit_.findings, {}, [](const Finding& finding) {
            return finding.number == 0 ? std::numeric_limits<std::int64_t>::max() : finding.number;
        });
        return std::move(audit_);
    }

private:
    void found(std::int64_t number, Tampering what, std::string says) {
        audit_.findings.push_back({number, what, std::move(says)});
    }

    void check_pages() {
        Statement rows = db_.prepare("PRAGMA integrity_check(1)");
        if (rows.step() && rows.text(0) != "ok")
            found(0, Tampering::bookkeeping, "the pages of the file do not fit together: " + rows.text(0));
    }

    void check_tables() {
        if (schema_text(db_) != expected_schema_text(static_cast<int>(db_.pragma("user_version"))))
            found(0, Tampering::bookkeeping, "the tables or the guards against editing are not those of a log");
    }

    void load() {
        Statement rows = db_.prepare(fmt::format("SELECT {} FROM record ORDER BY number", spine_columns));
        while (rows.step()) spines_.push_back(spine_from(rows));
        for (std::size_t place = 0; place < spines_.size(); ++place) by_hash_[spines_[place].hash] = place;
        for (const Spine& spine : spines_)
            for (const std::string& parent : parents_of(spine)) ++named_[parent];
        audit_.records = static_cast<std::int64_t>(spines_.size());
        std::map<std::string, ChainSummary> chains;
        for (const Spine& spine : spines_) {
            ChainSummary& chain = chains[spine.chain];
            chain.chain = spine.chain;
            ++chain.records;
            if (std::ranges::find(chain.machines, spine.origin.machine) == chain.machines.end())
                chain.machines.push_back(spine.origin.machine);
        }
        for (auto& [id, chain] : chains) audit_.chains.push_back(std::move(chain));
    }

    void check_record(const Spine& spine) {
        if (content_hash(db_, spine) != spine.hash) {
            // Later records name the hash that they were written after: a record that none of them knows came later.
            const bool known = named_.contains(spine.hash) || is_head(spine.hash);
            found(spine.number, known ? Tampering::changed : Tampering::inserted,
                  fmt::format("{} {}", described(spine), known ? "is not as it was written: it was changed"
                                                               : "is known to no record after it: it was inserted or rehashed"));
        }
        for (const std::string& parent : parents_of(spine)) {
            const auto before = by_hash_.find(parent);
            if (before == by_hash_.end())
                found(spine.number, Tampering::removed,
                      fmt::format("the record before {} is not there (hash {}...): it was removed or changed",
                                  described(spine), parent.substr(0, 16)));
            else if (spines_[before->second].number >= spine.number)
                found(spine.number, Tampering::moved, fmt::format("{} stands before one that it follows", described(spine)));
        }
    }

    void check_order() {
        for (std::size_t place = 0; place < spines_.size(); ++place) {
            const Spine& spine = spines_[place];
            const std::int64_t before = place == 0 ? 0 : spines_[place - 1].number;
            if (spine.number != before + 1)
                found(spine.number, Tampering::removed,
                      spine.number == before + 2
                          ? fmt::format("record {} is not there: it was removed", before + 1)
                          : fmt::format("records {} to {} are not there: they were removed", before + 1, spine.number - 1));
            if (place > 0 && std::pair(spines_[place - 1].tick, spines_[place - 1].hash) > std::pair(spine.tick, spine.hash))
                found(spine.number, Tampering::moved, fmt::format("{} is out of order", described(spine)));
        }
    }

    // Rows of parts that belong to no record of their kind.
    void check_stray_rows() {
        for (const Kind& kind : kinds())
            for (const Part& part : kind.parts) {
                Statement rows = db_.prepare(fmt::format(
                    "SELECT DISTINCT part.record FROM {} AS part LEFT JOIN record ON record.number = part.record "
                    "WHERE record.kind IS NOT ?1",
                    part.table));
                rows.bind(kind.word);
                while (rows.step())
                    found(rows.integer(0), Tampering::inserted,
                          fmt::format("a row of table {} belongs to no {} record: it was inserted, or its record was removed",
                                      part.table, kind.word));
            }
    }

    [[nodiscard]] bool is_head(const std::string& hash) const {
        return db_.find_integer("SELECT 1 FROM head WHERE hash = ?1", hash).has_value();
    }

    void check_heads() {
        std::vector<std::string> heads;
        for (const Spine& spine : spines_)
            if (!named_.contains(spine.hash)) heads.push_back(spine.hash);
        std::ranges::sort(heads);
        std::vector<std::string> noted;
        Statement rows = db_.prepare("SELECT hash FROM head ORDER BY hash");
        while (rows.step()) noted.push_back(rows.text(0));
        for (const std::string& hash : noted)
            if (!by_hash_.contains(hash))
                found(0, Tampering::removed,
                      fmt::format("the newest record (hash {}...) is not there: it was removed or changed", hash.substr(0, 16)));
        // The record before a removed one is known to nothing either: then the removal says it all.
        const bool some_removed = std::ranges::any_of(
            audit_.findings, [](const Finding& finding) { return finding.what == Tampering::removed; });
        for (const std::string& hash : heads)
            if (!some_removed && !std::ranges::binary_search(noted, hash)) {
                const Spine& spine = spines_[by_hash_.at(hash)];
                found(spine.number, Tampering::inserted,
                      fmt::format("{} is known to no record after it: it was inserted", described(spine)));
            }
        const auto own = db_.find_text("SELECT chain FROM own_chain");
        if (own && std::ranges::none_of(spines_, [&](const Spine& spine) { return spine.chain == *own; }))
            found(0, Tampering::bookkeeping, "the name of this log's own chain was changed");
        if (db_.find_integer("SELECT count(*) FROM own_chain").value_or(0) > 1)
            found(0, Tampering::bookkeeping, "the log has more than one chain of its own");
        audit_.heads = std::move(heads);
    }

    void find_forks() {
        for (const Spine& spine : spines_) {
            const auto count = named_.find(spine.hash);
            if (count != named_.end() && count->second > 1)
                audit_.forks.push_back(fmt::format("{} was continued in {} places", described(spine), count->second));
        }
    }

    void check_anchor(const std::string& against) {
        std::vector<std::string> matching;
        for (const Spine& spine : spines_)
            if (against.size() >= 8 && spine.hash.starts_with(against)) matching.push_back(spine.hash);
        if (matching.size() != 1) {
            found(0, Tampering::anchor,
                  matching.empty()
                      ? fmt::format("no record has the hash {}: the log was cut short, changed or written anew since, or it is "
                                    "another log",
                                    against)
                      : fmt::format("{} records begin with {}: give more of the hash", matching.size(), against));
            return;
        }
        std::set<std::string> vouched;
        std::vector<std::string> open = matching;
        while (!open.empty()) {
            const std::string hash = open.back();
            open.pop_back();
            const auto place = by_hash_.find(hash);
            if (place == by_hash_.end() || !vouched.insert(hash).second) continue;
            for (std::string& parent : parents_of(spines_[place->second])) open.push_back(std::move(parent));
        }
        audit_.anchored = static_cast<std::int64_t>(vouched.size());
    }

    void check_recordings() {
        const std::filesystem::path folder = takes_folder_of(file_);
        Statement rows = db_.prepare("SELECT record, name, bytes, sha256, 'recording' FROM raw_file UNION ALL "
                                     "SELECT record, stored_as, bytes, sha256, 'attachment' FROM attachment ORDER BY 1, 2");
        while (rows.step()) {
            ++audit_.recordings;
            const RawFile raw{rows.text(1), 0, rows.integer(2), rows.text(3)};
            if (const std::string wrong = raw_fault(folder, raw); !wrong.empty())
                found(rows.integer(0), Tampering::recording,
                      fmt::format("the {} {} of record {} {}", rows.text(4), raw.name, rows.integer(0), wrong));
        }
    }

    const Database& db_;
    std::filesystem::path file_;
    std::vector<Spine> spines_;
    std::unordered_map<std::string, std::size_t> by_hash_;
    std::unordered_map<std::string, int> named_;  // how many records name this hash as the one before them
    Audit audit_;
};

}  // namespace

std::string_view word(Tampering tampering) {
    switch (tampering) {
        case Tampering::changed: return "changed";
        case Tampering::removed: return "removed";
        case Tampering::inserted: return "inserted";
        case Tampering::moved: return "moved";
        case Tampering::bookkeeping: return "bookkeeping";
        case Tampering::anchor: return "anchor";
        case Tampering::recording: return "recording";
    }
    return "";
}

Result<Audit> audit(const std::filesystem::path& file, const AuditRequest& request) {
    return as_result([&] {
        const auto database = open_database(file, Mode::read, std::chrono::seconds{5}, Tables::any);
        const Snapshot snapshot(*database);
        return Auditor(*database, file).run(request);
    });
}

}  // namespace proofwalk::log
