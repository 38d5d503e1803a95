// The recorded sets of simulated venues made by another hand, from samples to verdicts, against their truth.
#include <gtest/gtest.h>

#include "verify/recorded_set.hpp"
#include "verify/shared_folder.hpp"

namespace proofwalk::verify {
namespace {

TEST(RecordedSets, AreJudgedRightAndMostlySettled) {
    int settled = 0, unsettled = 0;
    std::string remarks;
    for (const char* set : {"one-box-low", "pair-closed", "fills-crossed", "delay-speaker-late"}) {
        const std::filesystem::path folder = shared_folder() / "cases" / set;
        if (!std::filesystem::exists(folder)) GTEST_SKIP() << folder << " is not here";
        const auto input = measured_set(folder);
        ASSERT_TRUE(input.has_value()) << set;
        const Score scored = score(judge(*input), folder / "truth.json");
        for (const std::string& remark : scored.remarks) remarks += std::string(set) + ": " + remark + "\n";
        EXPECT_EQ(scored.false_pass, 0) << remarks;
        EXPECT_EQ(scored.false_fail, 0) << remarks;
        EXPECT_EQ(scored.missed, 0) << remarks;
        settled += scored.settled;
        unsettled += scored.unsettled;
    }
    EXPECT_LE(10 * unsettled, settled + unsettled) << remarks;
}

}  // namespace
}  // namespace proofwalk::verify
