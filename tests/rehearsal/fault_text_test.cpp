#include "rehearsal/rehearsed.hpp"

namespace proofwalk::rehearsal {
namespace {

TEST(FaultText, ReadsEveryKindAndWritesItBack) {
    const plan::Plan plan = two_boxes();
    for (const std::string text : {"A:aim-h:2.5", "A:aim-v:-5", "A+B:splay:-6", "A+B:spacing:0.4", "B:delay:-6", "B:gain:-4",
                                   "A:polarity", "A:dead-high", "A:dead-low", "B:silent", "A:swap:B"}) {
        const auto fault = fault_from_text(text, plan);
        ASSERT_TRUE(fault) << text << ": " << sentence(fault.error());
        EXPECT_EQ(to_text(*fault), text);
    }
    EXPECT_EQ(fault_from_text("A:gain:+2", plan)->amount, 2.0);
}

struct Refusal {
    std::string text, told;
};
class FaultTextRefuses : public testing::TestWithParam<Refusal> {};

TEST_P(FaultTextRefuses, WithAReason) {
    const auto fault = fault_from_text(GetParam().text, two_boxes());
    ASSERT_FALSE(fault);
    const std::string told = sentence(fault.error());
    EXPECT_NE(told.find(GetParam().told), std::string::npos) << told;
    EXPECT_EQ(exit_status(fault.error()), 2);
}

INSTANTIATE_TEST_SUITE_P(All, FaultTextRefuses,
                         testing::Values(Refusal{"", "SUBJECT:KIND"}, Refusal{"A", "SUBJECT:KIND"}, Refusal{":gain:1", "SUBJECT:KIND"},
                                         Refusal{"A:gian:1", "did you mean \"gain\""}, Refusal{"A:gain", "needs an amount in dB"},
                                         Refusal{"A:gain:loud", "\"loud\" is not a number"}, Refusal{"A:gain:nan", "not a number"},
                                         Refusal{"A:gain:1e9", "beyond 60 dB"}, Refusal{"A:gain:1:2", "one figure"},
                                         Refusal{"A:polarity:1", "no amount"}, Refusal{"C:gain:1", "no box or circuit \"C\""},
                                         Refusal{"A:splay:3", "two boxes"}, Refusal{"A+C:splay:3", "no box \"C\""},
                                         Refusal{"A+A:spacing:1", "one box twice"}, Refusal{"A:swap", "needs the other circuit"},
                                         Refusal{"A:swap:A", "with itself"}, Refusal{"A:swap:Q", "no circuit \"Q\""},
                                         Refusal{"A:delay:501", "beyond 500 ms"}));

TEST(FaultText, OmniBoxCanNotBeMisaimed) {
    plan::Plan plan = two_boxes();
    plan.models[0].pattern = plan::Pattern::omni;
    EXPECT_FALSE(fault_from_text("A:aim-h:5", plan));
    EXPECT_TRUE(fault_from_text("A:gain:5", plan));
}

}  // namespace
}  // namespace proofwalk::rehearsal
