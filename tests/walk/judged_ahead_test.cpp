// Verdicts that are worked out while their take is on its way to the disk are those that the log alone gives.
#include <gtest/gtest.h>

#include "rehearsal/rehearsal.hpp"
#include "scratch_show.hpp"
#include "walk/decisions.hpp"
#include "walk/judged.hpp"
#include "walk/live_take.hpp"

namespace proofwalk::walk {
namespace {

class JudgedAhead : public testing::Test {
protected:
    JudgedAhead() {
        auto made = rehearsal::make_room(show.plan.plan, {});
        EXPECT_TRUE(made.has_value());
        room = std::move(*made);
        device = room->device();
    }

    StoredTake take(const std::string& circuit) {
        LiveTake wanted;
        wanted.circuit = circuit;
        wanted.mics = {{2, "m1", "q1"}, {3, "m2", "q2"}, {4, "m3", "q3"}};
        wanted.armed_by = "R. Walker";
        wanted.drive.length_s = 2.0;
        auto stored = take_stored(show, *device, wanted, {}, stop);
        EXPECT_TRUE(stored.has_value()) << sentence(stored.error());
        return std::move(*stored);
    }

    // The stored judgement and what the log alone gives, figure by figure.
    void expect_what_the_log_gives(const verify::Judgement& judgement) {
        const auto evidence = load_evidence(show);
        ASSERT_TRUE(evidence.has_value());
        const verify::Judgement again = verify::judge(input_of(show, *evidence));
        ASSERT_EQ(judgement.checks.size(), again.checks.size());
        for (std::size_t n = 0; n < again.checks.size(); ++n) {
            SCOPED_TRACE(again.checks[n].subject);
            EXPECT_EQ(judgement.checks[n].kind, again.checks[n].kind);
            EXPECT_EQ(judgement.checks[n].verdict, again.checks[n].verdict);
            EXPECT_EQ(judgement.checks[n].value, again.checks[n].value);
            EXPECT_EQ(judgement.checks[n].says, again.checks[n].says);
        }
        const auto stored = show.log.newest_judgement();
        const auto basis = show.log.newest_basis();
        ASSERT_TRUE(stored && *stored && basis);
        EXPECT_EQ((*stored)->basis, *basis);
    }

    ScratchShow scratch;
    Show show = scratch.open();
    std::unique_ptr<rehearsal::Room> room;
    std::unique_ptr<capture::Device> device;
    std::atomic<bool> stop{false};
};

TEST_F(JudgedAhead, TheVerdictsAreThoseOfTheLog) {
    for (const std::string circuit : {"CA", "CB"}) {
        take(circuit);
        EXPECT_NE(show.ahead, nullptr);
        const auto before = show.log.newest_judgement();
        ASSERT_TRUE(before.has_value());
        if (*before) {
            EXPECT_NE((*before)->basis, show.log.newest_basis().value()) << "nothing is judged in the log before it is asked for";
        }
        const auto judgement = judged(show, origin("R. Walker"));
        ASSERT_TRUE(judgement.has_value()) << sentence(judgement.error());
        EXPECT_EQ(show.ahead, nullptr);
        expect_what_the_log_gives(*judgement);
    }
}

TEST_F(JudgedAhead, WhatComesInBetweenCounts) {
    take("CA");
    const auto ahead = show.ahead;
    ASSERT_NE(ahead, nullptr);
    Show other = scratch.open();
    ASSERT_TRUE(other.log.add_change({"CA", "turned", origin("R. Walker"), 0}).has_value());
    auto judgement = judged(show, origin("R. Walker"));
    ASSERT_TRUE(judgement.has_value());
    expect_what_the_log_gives(*judgement);

    // A take that another program stored while this one was on its way.
    log::TakeRecord silence;
    silence.sha256 = std::string(64, 'a');
    silence.label = "s";
    silence.kind = signal::TakeKind::silence;
    silence.plan_revision = show.revision;
    silence.origin = origin("R. Walker");
    auto on_its_way = judge_ahead(show, silence);
    ASSERT_NE(on_its_way, nullptr);
    const auto theirs = other.log.add_take(silence, std::vector<std::vector<float>>{});
    ASSERT_TRUE(theirs.has_value());
    silence.sha256 = std::string(64, 'b');
    const auto ours = show.log.add_take(silence, std::vector<std::vector<float>>{});
    ASSERT_TRUE(ours.has_value());
    came_in(show, std::move(on_its_way), *ours);
    EXPECT_EQ(show.ahead, nullptr);
}

TEST_F(JudgedAhead, ATakeThatDoesNotComeInLeavesNothing) {
    take("CA");
    ASSERT_TRUE(judged(show, origin("R. Walker")).has_value());
    // Another program has stored the same recording meanwhile.
    Show other = scratch.open();
    log::TakeRecord known;
    known.sha256 = std::string(64, 'c');
    known.label = "s";
    known.kind = signal::TakeKind::silence;
    known.plan_revision = show.revision;
    known.origin = origin("R. Walker");
    ASSERT_TRUE(other.log.add_take(known, std::vector<std::vector<float>>{}).has_value());
    auto on_its_way = judge_ahead(show, known);
    const auto again = show.log.add_take(known, std::vector<std::vector<float>>{});
    ASSERT_TRUE(again && again->already_there);
    came_in(show, std::move(on_its_way), *again);
    EXPECT_EQ(show.ahead, nullptr);
}

}  // namespace
}  // namespace proofwalk::walk
