#include <gtest/gtest.h>

#include <random>

#include "walk/sequence.hpp"

namespace proofwalk::walk {
namespace {

using enum TakeOutcome;
using Key = SequenceKey;
using Phase = SequencePhase;

Sequence of(std::size_t takes, SequenceRules rules = {}) { return Sequence(std::vector<bool>(takes, false), rules); }

TEST(Sequence, CountsInBeforeEachTake) {
    Sequence run = of(2);
    run.start(100.0);
    EXPECT_EQ(run.phase(), Phase::count_in);
    EXPECT_FALSE(run.due(102.9));
    EXPECT_NEAR(run.count_in_left_s(101.0), 2.0, 1e-12);
    EXPECT_TRUE(run.due(103.0));
    EXPECT_FALSE(run.due(103.0)) << "once";
    run.played(good, 110.0);
    EXPECT_EQ(run.at(), 1u);
    EXPECT_FALSE(run.due(112.0));
    EXPECT_TRUE(run.due(113.0));
    run.played(good, 120.0);
    EXPECT_EQ(run.phase(), Phase::over);
    EXPECT_TRUE(run.entries()[0].done && run.entries()[1].done);
}

TEST(Sequence, ABurstOrLostSamplesRepeatTheTakeAFewTimes) {
    Sequence run = of(2, {.count_in_s = 0.0, .automatic_repeats = 2});
    run.start(0.0);
    ASSERT_TRUE(run.due(0.0));
    run.played(burst, 1.0);
    EXPECT_EQ(run.at(), 0u);
    EXPECT_EQ(run.says(), "again, 1 of 2: a burst of noise");
    ASSERT_TRUE(run.due(1.0));
    run.played(lost_samples, 2.0);
    EXPECT_EQ(run.says(), "again, 2 of 2: samples were lost");
    ASSERT_TRUE(run.due(2.0));
    run.played(burst, 3.0);
    EXPECT_EQ(run.at(), 1u) << "it is not repeated for ever";
    EXPECT_EQ(run.says(), "kept as it is after 2 repeats: a burst of noise");
    EXPECT_EQ(run.entries()[0].plays, 3);
    ASSERT_TRUE(run.due(3.0));
    run.played(good, 4.0);
    EXPECT_EQ(run.entries()[1].repeats, 0);
}

TEST(Sequence, PausesBetweenTakesAndAfterOneThatPlays) {
    Sequence run = of(2);
    run.start(0.0);
    run.press(Key::pause, 1.0);
    EXPECT_EQ(run.phase(), Phase::paused);
    EXPECT_FALSE(run.due(50.0));
    run.press(Key::pause, 60.0);
    EXPECT_FALSE(run.due(62.0)) << "the count-in begins anew";
    ASSERT_TRUE(run.due(63.0));
    run.press(Key::pause, 64.0);
    EXPECT_EQ(run.phase(), Phase::playing);
    run.played(good, 65.0);
    EXPECT_EQ(run.phase(), Phase::paused);
    EXPECT_EQ(run.at(), 1u);
    run.press(Key::go, 70.0);
    EXPECT_EQ(run.phase(), Phase::count_in);
    run.press(Key::go, 70.5);
    EXPECT_TRUE(run.due(70.5)) << "go during the count-in means now";
    run.press(Key::pause, 70.6);
    run.press(Key::pause, 70.7);
    run.played(good, 71.0);
    EXPECT_EQ(run.phase(), Phase::over);
}

TEST(Sequence, SkipsAndRepeats) {
    Sequence run = of(3, {.count_in_s = 0.0});
    run.start(0.0);
    run.press(Key::skip, 0.0);
    EXPECT_TRUE(run.entries()[0].skipped);
    ASSERT_TRUE(run.due(0.0));
    run.played(good, 1.0);
    EXPECT_EQ(run.at(), 2u);
    run.press(Key::repeat, 1.0);
    EXPECT_EQ(run.at(), 1u) << "the take before";
    ASSERT_TRUE(run.due(1.0));
    run.press(Key::repeat, 1.5);
    run.played(good, 2.0);
    EXPECT_EQ(run.at(), 1u);
    ASSERT_TRUE(run.due(2.0));
    run.press(Key::skip, 2.5);
    run.played(stopped, 2.6);
    EXPECT_EQ(run.at(), 2u);
    EXPECT_TRUE(run.entries()[1].skipped);
    EXPECT_EQ(run.entries()[1].plays, 3);
    run.press(Key::pause, 3.0);
    run.press(Key::skip, 3.0);
    EXPECT_EQ(run.phase(), Phase::over);
}

TEST(Sequence, ACircuitThatIsUnmutedByHandWaitsForGo) {
    Sequence run({false, true, true}, {.count_in_s = 1.0, .automatic_repeats = 1});
    run.start(0.0);
    ASSERT_TRUE(run.due(1.0));
    run.played(good, 2.0);
    EXPECT_EQ(run.phase(), Phase::by_hand);
    EXPECT_FALSE(run.due(500.0));
    run.press(Key::go, 500.0);
    ASSERT_TRUE(run.due(501.0));
    run.played(burst, 502.0);
    EXPECT_EQ(run.phase(), Phase::count_in) << "it is still unmuted";
    ASSERT_TRUE(run.due(503.0));
    run.played(good, 504.0);
    EXPECT_EQ(run.phase(), Phase::by_hand);
    run.press(Key::stop, 505.0);
    EXPECT_EQ(run.phase(), Phase::over);
    EXPECT_FALSE(run.entries()[2].done);
}

TEST(Sequence, ALostDeviceWaitsForAPersonOrIsTriedAgain) {
    Sequence attended = of(2, {.count_in_s = 0.0});
    attended.start(0.0);
    ASSERT_TRUE(attended.due(0.0));
    attended.played(device_lost, 1.0);
    EXPECT_EQ(attended.phase(), Phase::paused);
    EXPECT_EQ(attended.at(), 0u);
    attended.press(Key::go, 9.0);
    EXPECT_TRUE(attended.due(9.0));

    Sequence alone = of(2, {.count_in_s = 0.0, .automatic_repeats = 1, .attended = false});
    alone.start(0.0);
    ASSERT_TRUE(alone.due(0.0));
    alone.played(device_lost, 1.0);
    EXPECT_FALSE(alone.due(2.5)) << "a device needs a moment to come back";
    ASSERT_TRUE(alone.due(3.0));
    alone.played(device_lost, 4.0);
    EXPECT_EQ(alone.phase(), Phase::over);
    EXPECT_FALSE(alone.entries()[0].done);
}

TEST(Sequence, StopAndAFailureEndIt) {
    Sequence run = of(2, {.count_in_s = 0.0});
    run.start(0.0);
    ASSERT_TRUE(run.due(0.0));
    run.press(Key::stop, 0.5);
    run.played(stopped, 0.6);
    EXPECT_EQ(run.phase(), Phase::over);
    Sequence failing = of(2, {.count_in_s = 0.0});
    failing.start(0.0);
    ASSERT_TRUE(failing.due(0.0));
    failing.played(failed, 0.6);
    EXPECT_EQ(failing.phase(), Phase::over);
    Sequence none = of(0);
    none.start(0.0);
    EXPECT_EQ(none.phase(), Phase::over);
    none.press(Key::repeat, 1.0);
    EXPECT_FALSE(none.due(9.0));
}

// Whatever is pressed and however takes go: one take at a time, a done take was played, and it comes to an end.
TEST(Sequence, AnyKeysAndOutcomesComeToAnEnd) {
    std::mt19937 random(7);
    for (int turn = 0; turn < 2000; ++turn) {
        std::vector<bool> hands;
        for (auto n = random() % 5; n > 0; --n) hands.push_back(random() % 2 == 0);
        Sequence run(hands, {.count_in_s = 0.5, .automatic_repeats = static_cast<int>(random() % 3), .attended = random() % 2 == 0});
        double now_s = 0.0;
        run.start(now_s);
        for (int step = 0; step < 4000 && run.phase() != Phase::over; ++step) {
            now_s += 0.1;
            if (run.due(now_s)) {
                ASSERT_LT(run.at(), hands.size());
                if (random() % 4 == 0) run.press(static_cast<Key>(1u << (random() % 5)), now_s);
                run.played(random() % 3 == 0 ? static_cast<TakeOutcome>(random() % 5) : good, now_s += 1.0);
            } else if (random() % 8 == 0) {
                run.press(static_cast<Key>(1u << (random() % 5)), now_s);
            }
        }
        ASSERT_EQ(run.phase(), Phase::over) << "turn " << turn;
        for (const auto& entry : run.entries()) {
            EXPECT_TRUE(!entry.done || entry.plays > 0);
            EXPECT_LE(entry.repeats, entry.plays);
        }
    }
}

}  // namespace
}  // namespace proofwalk::walk
