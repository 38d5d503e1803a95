// Judgements as the log holds them: differences, each on the one before, with a whole one every so often.
#pragma once

#include "log/database.hpp"
#include "log/packed_judgement.hpp"

namespace proofwalk::log {

inline constexpr std::int64_t most_differences = 64;  // before a whole judgement is stored again

// The judgement of a record, put together from its base; nothing when one that it stands on is not there (a recovered
// log can lack it). Throws BadBytes or StoreError.
[[nodiscard]] std::optional<PackedJudgement> load_judgement(const Database& database, std::int64_t number);

}  // namespace proofwalk::log
