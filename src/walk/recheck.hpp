// Every verdict computed again from stored evidence and held against the stored one.
#pragma once

#include <string>
#include <vector>

#include "walk/judged.hpp"

namespace proofwalk::walk {

struct Recheck {
    int verdicts = 0;   // compared
    int readings = 0;   // compared
    std::vector<std::string> differences;  // one sentence each
};
[[nodiscard]] Result<Recheck> recheck(const Show& show);

}  // namespace proofwalk::walk
