// Verdicts on readings made from the plan's own geometry: what is moved is named with the right sign and action.
#include <algorithm>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "acoustics/air.hpp"
#include "acoustics/directivity.hpp"
#include "plan/targets.hpp"
#include "units/convert.hpp"
#include "verify/judge.hpp"
#include "verify/predict.hpp"
#include "verify/tally.hpp"
#include "verify/two_boxes.hpp"

namespace proofwalk::verify {
namespace {

TEST(Judge, PassesARigThatHangsAsPlanned) {
    for (const CheckResult& check : judge(heard({})).checks)
        EXPECT_EQ(check.verdict, Verdict::pass) << plan::word(check.kind) << " " << check.subject << ": " << check.says;
}

TEST(Judge, GivesTheSameBytesForTheSameInput) {
    Hang hang;
    hang.really.boxes[0].pan_deg += 3.0;
    const Judgement one = judge(heard(hang)), two = judge(heard(hang));
    for (std::size_t i = 0; i < one.checks.size(); ++i) {
        EXPECT_EQ(one.checks[i].value, two.checks[i].value);
        EXPECT_EQ(one.checks[i].uncertainty, two.checks[i].uncertainty);
        EXPECT_EQ(one.checks[i].says, two.checks[i].says);
    }
}

TEST(Judge, SaysWhichWayToTurn) {
    Hang hang;
    hang.really.boxes[0].pan_deg += 6.0;
    const Judgement judgement = judge(heard(hang));
    const CheckResult& check = of(judgement, CheckKind::aim_h, "A");
    EXPECT_EQ(check.verdict, Verdict::fail);
    EXPECT_NEAR(*check.value, 6.0, 0.3);
    // Towards +y is stage left, which the audience calls house right.
    EXPECT_THAT(check.says, testing::HasSubstr("house right of the plan"));
    EXPECT_THAT(check.advice, testing::HasSubstr("to house left"));
    EXPECT_EQ(of(judgement, CheckKind::aim_h, "B").verdict, Verdict::pass);
}

TEST(Judge, MirrorsWhenTheRoomIsMirrored) {
    Hang left, right;
    left.really.boxes[0].pan_deg += 5.0;
    right.really.boxes[1].pan_deg -= 5.0;
    const Judgement one = judge(heard(left)), other = judge(heard(right));
    EXPECT_NEAR(*of(one, CheckKind::aim_h, "A").value, -*of(other, CheckKind::aim_h, "B").value, 1e-3);
    EXPECT_NEAR(*of(one, CheckKind::aim_v, "A").value, *of(other, CheckKind::aim_v, "B").value, 1e-3);
    EXPECT_NEAR(*of(one, CheckKind::spacing, "A+B").value, *of(other, CheckKind::spacing, "A+B").value, 1e-4);
}

TEST(Judge, ScalingAllLevelsChangesNoAim) {
    Input input = heard({});
    const Judgement before = judge(input);
    for (TakenReading& taken : input.readings) taken.reading.aim_band_db->value += 17.0;
    const Judgement after = judge(input);
    for (const char* box : {"A", "B"})
        for (const CheckKind kind : {CheckKind::aim_h, CheckKind::aim_v, CheckKind::level})
            EXPECT_NEAR(*of(before, kind, box).value, *of(after, kind, box).value, 1e-3) << box;
}

TEST(Judge, ShiftingAllArrivalsChangesOnlyTheSolvedLatency) {
    Input input = heard({});
    input.plan.drive_latency_ms.reset();
    const Judgement before = judge(input);
    for (TakenReading& taken : input.readings) taken.reading.arrival_s->value += 0.0123;
    const Judgement after = judge(input);
    ASSERT_TRUE(before.drive_latency_ms && after.drive_latency_ms);
    EXPECT_NEAR(after.drive_latency_ms->value - before.drive_latency_ms->value, 12.3, 1e-2);
    EXPECT_NEAR(*of(before, CheckKind::alignment, "A+B").value, *of(after, CheckKind::alignment, "A+B").value, 1e-3);
}

TEST(Judge, NamesALateBoxAndTheDelayToTakeOff) {
    Hang hang;
    hang.really.boxes[1].delay_ms += 3.0;
    const Judgement judgement = judge(heard(hang));
    const CheckResult& arrival = of(judgement, CheckKind::arrival, "B");
    EXPECT_EQ(arrival.verdict, Verdict::fail);
    EXPECT_NEAR(*arrival.value, 3.0, 0.1);
    EXPECT_THAT(arrival.advice, testing::HasSubstr("off the delay of B"));
    EXPECT_EQ(of(judgement, CheckKind::alignment, "A+B").verdict, Verdict::fail);
    EXPECT_NEAR(*of(judgement, CheckKind::alignment, "A+B").value, 3.0, 0.1);
}

TEST(Judge, NamesCrossedCablesAndHoldsTheOtherChecks) {
    Hang hang;
    hang.crossed = true;
    const Judgement judgement = judge(heard(hang));
    const CheckResult& check = of(judgement, CheckKind::sounding, "A");
    EXPECT_EQ(check.verdict, Verdict::fail);
    EXPECT_EQ(check.says, "crossed: the cable of A feeds B and the other way round");
    for (const CheckKind kind : {CheckKind::level, CheckKind::aim_h, CheckKind::arrival}) {
        EXPECT_EQ(of(judgement, kind, "A").verdict, Verdict::unsure);
        EXPECT_THAT(of(judgement, kind, "A").says, testing::StartsWith("patch first"));
    }
}

TEST(Judge, NamesABoxOfWrongPolarity) {
    Hang hang;
    hang.really.boxes[0].inverted = true;
    const Judgement judgement = judge(heard(hang));
    EXPECT_EQ(of(judgement, CheckKind::polarity, "A").verdict, Verdict::fail);
    EXPECT_EQ(of(judgement, CheckKind::polarity, "A").value, -1.0);
    EXPECT_EQ(of(judgement, CheckKind::polarity, "B").verdict, Verdict::pass);
}

TEST(Judge, NamesADeadHighDriver) {
    Input input = heard({});
    for (TakenReading& taken : input.readings) {
        if (taken.circuit != "A") continue;
        for (std::size_t band = 0; band < band_count; ++band) {
            if (midband_hz(band) < 1500.0) continue;
            taken.reading.direct_db[band] -= 25.0;
            taken.reading.full_db[band] -= 25.0;
        }
        taken.reading.aim_band_db->value -= 25.0;
    }
    const Judgement judgement = judge(input);
    const CheckResult& check = of(judgement, CheckKind::response, "A");
    EXPECT_EQ(check.verdict, Verdict::fail);
    EXPECT_THAT(check.says, testing::HasSubstr("likely a dead high driver"));
    EXPECT_EQ(of(judgement, CheckKind::response, "B").verdict, Verdict::pass);
    EXPECT_EQ(of(judgement, CheckKind::aim_h, "A").verdict, Verdict::unsure);
}

TEST(Judge, NothingTakenIsOpenAndNeverAPass) {
    Input input;
    input.plan = pair_plan();
    for (const CheckResult& check : judge(input).checks) EXPECT_EQ(check.verdict, Verdict::open);
}

TEST(Judge, ASilentCircuitFailsAndItsOtherChecksStayOpen) {
    Input input = heard({});
    for (TakenReading& taken : input.readings)
        if (taken.circuit == "A") {
            signal::Reading silent;
            silent.flags.raise(Flag::no_signal);
            taken.reading = silent;
        }
    const Judgement judgement = judge(input);
    EXPECT_EQ(of(judgement, CheckKind::sounding, "A").verdict, Verdict::fail);
    EXPECT_EQ(of(judgement, CheckKind::aim_h, "A").verdict, Verdict::open);
    EXPECT_EQ(of(judgement, CheckKind::crossover, "A+B").verdict, Verdict::open);
}

TEST(Judge, AClippedTakeIsNoEvidence) {
    Input input = heard({});
    for (TakenReading& taken : input.readings)
        if (taken.circuit == "A" && taken.position == "A0") taken.reading.flags.raise(Flag::clipped);
    const Judgement judgement = judge(input);
    const CheckResult& check = of(judgement, CheckKind::level, "A");
    EXPECT_EQ(check.verdict, Verdict::unsure);
    EXPECT_THAT(check.says, testing::HasSubstr("clipped"));
}

TEST(Judge, OneBlockedMicIsNamedAndNotAveragedIn) {
    Input input = heard({});
    for (TakenReading& taken : input.readings)
        if (taken.circuit == "A" && taken.position == "x") taken.reading.aim_band_db->value -= 9.0;
    const Judgement judgement = judge(input);
    const auto fit = std::ranges::find(judgement.fits, "A", &Fit::box);
    EXPECT_THAT(fit->outliers, testing::ElementsAre("x"));
    EXPECT_NEAR(*of(judgement, CheckKind::aim_h, "A").value, 0.0, 0.5);
}

TEST(Judge, AnUnprovenMeasuringChainTakesEveryPassAway) {
    Input input = heard({});
    input.gear_fault = "the loopback is not flat";
    for (const CheckResult& check : judge(input).checks) {
        EXPECT_NE(check.verdict, Verdict::pass);
        EXPECT_THAT(check.says, testing::HasSubstr("the loopback is not flat"));
    }
}

TEST(Judge, AHandReadingThatAgreesNarrowsTheFigure) {
    Input input = heard({});
    const CheckResult before = of(judge(input), CheckKind::aim_v, "A");
    input.hand = {{CheckKind::aim_v, "A", 0.1, 0.2, "Crew (invented)"}};
    const CheckResult after = of(judge(input), CheckKind::aim_v, "A");
    EXPECT_LT(*after.uncertainty, *before.uncertainty);
    EXPECT_EQ(after.verdict, Verdict::pass);
}

TEST(Judge, AHandReadingThatContradictsTakesThePassAway) {
    Input input = heard({});
    input.hand = {{CheckKind::aim_v, "A", -6.0, 0.2, "Crew (invented)"}};
    const Judgement judgement = judge(input);
    EXPECT_EQ(of(judgement, CheckKind::aim_v, "A").verdict, Verdict::unsure);
    EXPECT_THAT(of(judgement, CheckKind::aim_v, "A").says, testing::HasSubstr("contradict"));
}

TEST(Judge, BudgetAddsUpToTheUncertainty) {
    for (const CheckResult& check : judge(heard({})).checks) {
        if (check.kind != CheckKind::aim_h && check.kind != CheckKind::spacing) continue;
        double square = 0.0;
        for (const BudgetLine& line : check.budget) square += line.u * line.u;
        EXPECT_NEAR(1.959964 * std::sqrt(square), *check.uncertainty, 0.03 * *check.uncertainty);
    }
}

TEST(Predict, NamesBeforehandWhatTheTakesCantSettle) {
    plan::Plan strict = pair_plan();
    strict.rules.aim_deg = 0.2;
    for (const PredictedCheck& check : predict(strict, takes_of(strict, true)))
        if (check.kind == CheckKind::aim_h) {
            EXPECT_EQ(check.best, Verdict::unsure);
            ASSERT_TRUE(check.u.has_value());
            EXPECT_GT(*check.u, 0.2);
        }
    const plan::Plan usual = pair_plan();
    for (const PredictedCheck& check : predict(usual, takes_of(usual, true)))
        if (check.kind == CheckKind::aim_h) {
            EXPECT_EQ(check.best, Verdict::pass);
        }
}

TEST(Tally, ASkippedCheckIsNeverAPassAndKeepsWhatWasMeasured) {
    const Judgement judgement = judge(heard({}));
    const auto skipped = with_skips(judgement.checks, {{"level", "A", "Crew (invented)", "cover on the box", {}}});
    const auto found = std::ranges::find_if(skipped, [](const CheckResult& check) {
        return check.kind == CheckKind::level && check.subject == "A";
    });
    EXPECT_EQ(found->verdict, Verdict::skipped);
    EXPECT_THAT(found->says, testing::HasSubstr("cover on the box"));
    EXPECT_TRUE(found->value.has_value());
}

}  // namespace
}  // namespace proofwalk::verify
