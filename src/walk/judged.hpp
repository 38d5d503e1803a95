// The records of a log turned into what verify judges, and into the tally that people read and sign.
#pragma once

#include <memory>
#include <vector>

#include "report/report.hpp"
#include "verify/tally.hpp"
#include "walk/show.hpp"

namespace proofwalk::walk {

// Everything of a log that verdicts depend on, read once.
struct Evidence {
    std::vector<log::TakeRecord> takes;
    std::vector<log::ChangeRecord> changes;
    std::vector<log::SkipRecord> skips;
    std::vector<verify::HandReading> hand;
    std::vector<log::GearRecord> gear;
};
[[nodiscard]] Result<Evidence> load_evidence(const Show& show, bool with_impulses = false);

// True when a change since has retired what this take says of this circuit.
[[nodiscard]] bool retired(const plan::Plan& plan, const std::vector<log::ChangeRecord>& changes,
                           const log::TakeRecord& take, const std::string& circuit);

[[nodiscard]] verify::Input input_of(const Show& show, const Evidence& evidence);

// Begins to judge what the log will hold once this take is in it, side by side with its way to the disk. Nothing of it is
// stored or shown: once the take has come in, `judged` takes it over, unless something else has come in too. Null: the log cannot be read.
[[nodiscard]] std::shared_ptr<JudgingAhead> judge_ahead(const Show& show, const log::TakeRecord& coming);
void came_in(Show& show, std::shared_ptr<JudgingAhead> ahead, const log::Log::Added& take);

// Judges and stores the judgement, unless the newest stored one stands on the same records.
[[nodiscard]] Result<verify::Judgement> judged(Show& show, const log::Origin& origin);

[[nodiscard]] Result<verify::Tally> tally(const Show& show);
[[nodiscard]] Result<std::vector<report::ReadingRow>> readings(const Show& show);

}  // namespace proofwalk::walk
