// What failed asks for its correction before anything is taken again, and the retakes ride along in the walk that is left.
#include "walk/corrections.hpp"

#include <algorithm>

#include <gtest/gtest.h>

#include "plan/checks.hpp"
#include "plan/read.hpp"
#include "walk/decisions.hpp"
#include "walk/next.hpp"
#include "walk/rehearse.hpp"
#include "walk/scratch_show.hpp"

namespace proofwalk::walk {
namespace {

using enum plan::CheckKind;

const plan::Plan& demo() {
    static const plan::Plan plan = [] {
        auto file = plan::load(std::string(PROOFWALK_SOURCE_DIR) + "/fixtures/demo/plan.toml");
        if (!file) throw std::runtime_error(sentence(file.error().front()));
        return file->plan;
    }();
    return plan;
}

// A tally in which all passed but these.
std::vector<verify::CheckResult> tally_with(const std::vector<route::CheckId>& failed) {
    std::vector<verify::CheckResult> checks;
    for (const plan::PlannedCheck& planned : plan::checks(demo())) {
        verify::CheckResult check;
        check.kind = planned.kind;
        check.subject = planned.subject;
        const bool fails = std::ranges::find(failed, route::CheckId{planned.kind, planned.subject}) != failed.end();
        check.verdict = fails ? verify::Verdict::fail : verify::Verdict::pass;
        checks.push_back(check);
    }
    return checks;
}

TEST(Corrections, NothingFailedAsksForNothing) { EXPECT_TRUE(corrections(demo(), tally_with({})).empty()); }

TEST(Corrections, AFailedPairGoesWithTheBoxThatFailedItself) {
    const auto asked = corrections(demo(), tally_with({{arrival, "D1"}, {alignment, "ML+D1"}, {alignment, "D1+UB1"}}));
    ASSERT_EQ(asked.size(), 1u);
    EXPECT_EQ(asked[0].subject, "D1");
    EXPECT_EQ(asked[0].circuits, std::vector<std::string>{"D1"});
    ASSERT_EQ(asked[0].failed.size(), 3u);
    EXPECT_EQ(asked[0].failed[0].kind, arrival);
}

TEST(Corrections, WhereBothFailedThePairGoesWithTheOneThatExplainsIt) {
    const auto asked = corrections(demo(), tally_with({{aim_v, "ML"}, {arrival, "D1"}, {alignment, "ML+D1"}}));
    ASSERT_EQ(asked.size(), 2u);
    EXPECT_EQ(asked[0].subject, "ML");
    EXPECT_EQ(asked[0].failed.size(), 1u);
    EXPECT_EQ(asked[1].subject, "D1");
    ASSERT_EQ(asked[1].failed.size(), 2u);
    EXPECT_EQ(asked[1].failed[1].kind, alignment);
}

TEST(Corrections, TwoFailedPairsAccuseTheBoxTheyShare) {
    const auto asked = corrections(demo(), tally_with({{alignment, "ML+D1"}, {alignment, "D1+UB1"}}));
    ASSERT_EQ(asked.size(), 1u);
    EXPECT_EQ(asked[0].subject, "D1");
    EXPECT_EQ(asked[0].failed.size(), 2u);
}

TEST(Corrections, AnyBoxOfALonePairMayBeTheOne) {
    const auto asked = corrections(demo(), tally_with({{alignment, "UB1+UB2"}, {crossover, "UB1+UB2"}}));
    ASSERT_EQ(asked.size(), 1u);
    EXPECT_EQ(asked[0].subject, "UB1+UB2");
    EXPECT_EQ(asked[0].circuits, (std::vector<std::string>{"UB1", "UB2"}));
    EXPECT_EQ(asked[0].failed.size(), 2u);
}

class AfterTheWalk : public ::testing::Test {
protected:
    ScratchShow scratch;
    Show show = scratch.open();
    std::string box = show.plan.plan.boxes.front().id;

    void rehearsed(const std::string& fault) {
        RehearsalOptions options;
        options.room.seed = 3;
        if (!fault.empty()) options.room.faults.push_back(*rehearsal::fault_from_text(fault, show.plan.plan));
        const auto done = rehearse(show, options, [](const StoredTake&, std::size_t, std::size_t) {});
        ASSERT_TRUE(done) << sentence(done.error());
        ASSERT_TRUE(judged(show, {}));
    }
    [[nodiscard]] Next now() const {
        NextOptions options;
        auto found = next(show, options);
        EXPECT_TRUE(found);
        return std::move(*found);
    }
};

TEST_F(AfterTheWalk, AFailAsksForItsCorrectionAndPlansTheRetake) {
    rehearsed(box + ":polarity");
    const Next asked = now();
    ASSERT_EQ(asked.corrections.size(), 1u);
    EXPECT_EQ(asked.corrections[0].subject, box);
    EXPECT_EQ(asked.corrections[0].failed.front().kind, polarity);
    EXPECT_FALSE(asked.corrections[0].failed.front().advice.empty());
    ASSERT_FALSE(asked.agenda.legs.empty());
    for (const route::Leg& leg : asked.agenda.legs) EXPECT_EQ(leg.circuits, std::vector<std::string>{show.plan.plan.box(box)->circuit});

    // Recorded, the same walk is left and nothing more is asked.
    ASSERT_TRUE(change(show, box, "R. Walker", "swapped the pins of its cable"));
    const Next recorded = now();
    EXPECT_TRUE(recorded.corrections.empty());
    EXPECT_DOUBLE_EQ(recorded.agenda.seconds, asked.agenda.seconds);
    EXPECT_EQ(recorded.agenda.legs.size(), asked.agenda.legs.size());
}

TEST_F(AfterTheWalk, WhatIsSkippedIsNotAskedToBePutRight) {
    rehearsed(box + ":polarity");
    ASSERT_TRUE(skip(show, "polarity", box, "R. Walker", "wanted so"));
    EXPECT_TRUE(now().corrections.empty());
}

TEST_F(AfterTheWalk, AProvenRigAsksForNothing) {
    rehearsed("");
    const Next left = now();
    EXPECT_TRUE(left.corrections.empty());
    EXPECT_TRUE(left.agenda.legs.empty());
}

}  // namespace
}  // namespace proofwalk::walk
