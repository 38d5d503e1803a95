// Plan revisions as they count in this log: the same bytes one after another are one revision.
#pragma once

#include <map>
#include <string>

#include "log/database.hpp"

namespace proofwalk::log {

// Revision by hash of the plan record.
[[nodiscard]] std::map<std::string, int> plan_revisions(const Database& database);
// Hash of the first record of a revision; empty when there is none.
[[nodiscard]] std::string plan_hash(const Database& database, int revision);

}  // namespace proofwalk::log
