#include "walk/log_care.hpp"

#include <fmt/format.h>

#include "log/audit.hpp"
#include "log/merge.hpp"
#include "log/recover.hpp"
#include "walk/show.hpp"

namespace proofwalk::walk {
namespace {

using report::RecordTable;
using report::Value;

std::int64_t count(std::size_t size) { return static_cast<std::int64_t>(size); }

RecordTable lines(std::string key, std::string title, std::string column, const std::vector<std::string>& texts) {
    RecordTable table{std::move(key), std::move(title), {std::move(column)}, {}};
    for (const std::string& text : texts) table.rows.push_back({text});
    return table;
}

}  // namespace

Result<CareOutcome> audit_log(const std::filesystem::path& log, const std::string& against, bool recordings) {
    const auto audit = log::audit(log, {against, recordings});
    if (!audit) return std::unexpected(audit.error());
    RecordTable findings{"findings", "What does not fit", {"record", "what", "says"}, {}};
    for (const log::Finding& finding : audit->findings)
        findings.rows.push_back({finding.number == 0 ? Value{} : Value{finding.number}, std::string{word(finding.what)}, finding.says});
    RecordTable chains{"chains", "Logs where these records were born", {"records", "machines", "chain"}, {}};
    for (const log::ChainSummary& chain : audit->chains) chains.rows.push_back({chain.records, chain.machines, chain.chain});
    CareOutcome outcome;
    outcome.sound = audit->sound();
    outcome.document = {"proofwalk.audit/1",
                        {{"log", log.string()},
                         {"sound", audit->sound()},
                         {"records", audit->records},
                         {"files_compared", audit->recordings},
                         {"records_vouched_for", audit->anchored ? Value{*audit->anchored} : Value{}},
                         {"newest_hash", audit->heads}},
                        {std::move(findings), std::move(chains),
                         lines("forks", "Copies of this log that were continued apart", "says", audit->forks)}};
    return outcome;
}

Result<CareOutcome> merge_logs(const std::vector<std::filesystem::path>& logs, const std::filesystem::path& into) {
    const auto merged = log::merge(logs, into);
    if (!merged) return std::unexpected(merged.error());
    RecordTable sources{"sources", "Merged logs", {"only_here", "log"}, {}};
    for (std::size_t place = 0; place < logs.size(); ++place) sources.rows.push_back({merged->added[place], logs[place].string()});
    RecordTable conflicts{"conflicts", "Where the logs differ (both stay in the merged log)", {"what", "subject", "says"}, {}};
    for (const log::Conflict& conflict : merged->conflicts) conflicts.rows.push_back({conflict.what, conflict.subject, conflict.says});
    CareOutcome outcome;
    outcome.sound = merged->conflicts.empty() && merged->missing_files.empty();
    outcome.document = {"proofwalk.merge/1",
                        {{"log", into.string()}, {"records", merged->records}, {"shared_records", merged->shared}},
                        {std::move(sources), std::move(conflicts),
                         lines("missing_files", "Recordings or attachments that no log had beside it", "file", merged->missing_files)}};
    return outcome;
}

Result<CareOutcome> recover_log(const std::filesystem::path& damaged, const std::filesystem::path& into, const std::string& who) {
    const auto recovered = log::recover(damaged, into, origin(who));
    if (!recovered) return std::unexpected(recovered.error());
    CareOutcome outcome;
    outcome.sound = recovered->lost.empty() && recovered->missing_files.empty();
    outcome.document = {"proofwalk.recover/1",
                        {{"log", into.string()}, {"records", recovered->records}, {"lost_records", count(recovered->lost.size())}},
                        {lines("lost", "Lost", "record", recovered->lost),
                         lines("missing_files", "Recordings or attachments that are not beside the damaged log", "file",
                               recovered->missing_files)}};
    return outcome;
}

}  // namespace proofwalk::walk
