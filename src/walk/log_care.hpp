// What is done with whole logs: audit, merge, recovery, review of many; each told as a document of facts and tables.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "report/record_document.hpp"
#include "units/fault.hpp"

namespace proofwalk::walk {

struct CareOutcome {
    report::RecordDocument document;
    bool sound = true;  // nothing found that somebody has to look into
    Faults faults;      // of single logs, the others still told
};

// `against`: a hash from a sign-off or from an earlier audit, whole or its first 8 digits or more; empty: none.
[[nodiscard]] Result<CareOutcome> audit_log(const std::filesystem::path& log, const std::string& against, bool recordings);
[[nodiscard]] Result<CareOutcome> merge_logs(const std::vector<std::filesystem::path>& logs, const std::filesystem::path& into);
[[nodiscard]] Result<CareOutcome> recover_log(const std::filesystem::path& damaged, const std::filesystem::path& into,
                                              const std::string& who);
[[nodiscard]] CareOutcome review_logs(const std::vector<std::filesystem::path>& logs);

}  // namespace proofwalk::walk
