// Why a check came out as it did, and which take would settle it.
#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "verify/explain.hpp"
#include "verify/two_boxes.hpp"

namespace proofwalk::verify {
namespace {

TEST(Explain, ComparesWhatTheCheckAsksForWithPlanAndFit) {
    Hang hang;
    hang.really.boxes[0].delay_ms += 4.0;
    const auto why = explain(heard(hang), CheckKind::arrival, "A");
    ASSERT_TRUE(why.has_value());
    EXPECT_EQ(why->check.verdict, Verdict::fail);
    ASSERT_FALSE(why->compared.empty());
    const Compared& first = why->compared.front();
    EXPECT_TRUE(first.asked);
    EXPECT_EQ(first.position, "A0");
    EXPECT_THAT(first.roles, testing::ElementsAre("on-axis"));
    EXPECT_NEAR(first.arrival_ms->value - *first.planned_ms, 4.0, 1e-6);
    EXPECT_NEAR(*first.fitted_ms, first.arrival_ms->value, 0.1);
    EXPECT_NEAR(*first.fitted_db, first.level_db->value, 0.2);
    EXPECT_THAT(why->rule, testing::HasSubstr("guarded rule"));
}

TEST(Explain, BudgetIsTheUncertaintyLineByLine) {
    const Input input = heard({});
    for (const CheckKind kind : {CheckKind::aim_h, CheckKind::level, CheckKind::arrival}) {
        const auto why = explain(input, kind, "B");
        ASSERT_TRUE(why && why->check.uncertainty);
        double variance = 0.0;
        for (const BudgetLine& line : budget(input, kind, "B")) variance += line.u * line.u;
        EXPECT_NEAR(1.96 * std::sqrt(variance), *why->check.uncertainty, 0.02 * *why->check.uncertainty) << plan::word(kind);
    }
    EXPECT_TRUE(budget(input, CheckKind::aim_h, "nobody").empty());
}

TEST(Explain, FindsByCheckBySubjectAndByBoth) {
    const Input input = heard({});
    EXPECT_EQ(explain(input, "aim-h").size(), 2u);
    EXPECT_EQ(explain(input, "A+B").size(), 3u);
    ASSERT_EQ(explain(input, "aim-v:B").size(), 1u);
    EXPECT_EQ(explain(input, "aim-v:B").front().check.subject, "B");
    EXPECT_TRUE(explain(input, "nothing").empty());
}

TEST(NextTake, AnUnsureFigureNamesTheTakeThatWouldSettleIt) {
    // Turned half way to the limit, and one mic for each place: too near the limit to settle.
    Hang hang;
    hang.really.boxes[0].pan_deg += 1.3;
    Input input = heard(hang);
    input.plan.rules.mic_match_db = 0.5;
    const Judgement judgement = judge(input);
    const CheckResult& check = of(judgement, CheckKind::aim_h, "A");
    ASSERT_EQ(check.verdict, Verdict::unsure) << *check.value << " +-" << *check.uncertainty;
    EXPECT_THAT(check.advice, testing::AnyOf(testing::HasSubstr("match take"), testing::HasSubstr("once more"), testing::HasSubstr("as well")));
    ASSERT_TRUE(check.predicted_u.has_value());
    EXPECT_GT(*check.predicted_u, 0.0);
    // What is promised holds: with matched mics it is settled.
    for (const TakenReading& taken : input.readings) input.mics_matched.push_back(taken.mic);
    EXPECT_LT(*of(judge(input), CheckKind::aim_h, "A").uncertainty, 0.8 * *check.uncertainty);
}

}  // namespace
}  // namespace proofwalk::verify
