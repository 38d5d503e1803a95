// One log from several: every record of each, none twice, the same whichever order they are named in.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "units/fault.hpp"

namespace proofwalk::log {

// Where the logs say different things. Both stay in the merged log; this is what people should look at.
struct Conflict {
    std::string what;     // "plan", "take", "label", "verdict", "skip", "sign-off"
    std::string subject;
    std::string says;
};

struct Merged {
    std::int64_t records = 0;
    std::vector<std::int64_t> added;        // records that only this source has, one entry a source
    std::int64_t shared = 0;                // records that more than one source has
    std::vector<Conflict> conflicts;        // in the order of their words
    std::vector<std::string> missing_files; // recordings or attachments that no source has beside it
};

// `into` must not be there yet. A source that does not pass its audit is refused: merge would hide what was done to it.
[[nodiscard]] Result<Merged> merge(const std::vector<std::filesystem::path>& sources, const std::filesystem::path& into);

}  // namespace proofwalk::log
