// What a review needs of one log, read without its evidence.
#pragma once

#include <set>
#include <utility>

#include "log/review.hpp"

namespace proofwalk::log {

struct ShowDigest {
    ReviewedShow show;
    std::vector<LeftOut> left_out;                         // `show` of each is set by the review
    std::vector<verify::CheckResult> checks;               // newest judgement
    std::set<std::pair<std::string, std::string>> failed;  // subject and check of everything that ever failed
};

[[nodiscard]] Result<ShowDigest> digest_of(const std::filesystem::path& file);

}  // namespace proofwalk::log
