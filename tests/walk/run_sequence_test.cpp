#include "walk/run_sequence.hpp"

#include <gmock/gmock.h>

#include "scratch_show.hpp"

namespace proofwalk::walk {
namespace {

class RunSequence : public testing::Test {
protected:
    SequenceResult run(const std::string& device, const SequenceHooks& hooks = {}, int repeats = 2) {
        auto source = TakeSource::named(show.plan.plan, device);
        EXPECT_TRUE(source.has_value());
        walk::Setup setup;
        setup.armed_by = "R. Walker";
        setup.drive.length_s = 0.5;
        return run_sequence(show, *source, steps, setup, false, {.count_in_s = 0.0, .automatic_repeats = repeats, .attended = false}, control, hooks);
    }
    [[nodiscard]] static Step step(const std::string& circuit) { return {.circuit = circuit, .positions = {"q1", "q2"}, .settles = {}}; }
    [[nodiscard]] std::size_t in_log() const { return show.log.takes(false)->size(); }

    ScratchShow scratch;
    Show show = scratch.open();
    SequenceControl control;
    std::vector<Step> steps = {step(""), step("CA"), step("CB")};
};

TEST_F(RunSequence, EachTakeIsStoredAndJudgedBeforeTheNextBegins) {
    std::vector<std::string> order;
    SequenceHooks hooks;
    hooks.moved = [&](const Sequence& now, double) {
        if (now.phase() == SequencePhase::playing) order.push_back("play " + std::to_string(now.at()) + " log " + std::to_string(in_log()));
    };
    hooks.judged = [&](const StoredTake&) {
        const auto stored = show.log.newest_judgement();
        ASSERT_TRUE(stored.has_value() && stored->has_value());
        EXPECT_EQ((*stored)->basis.last_take, show.log.newest_basis()->last_take);
    };
    const auto result = run("rehearsal", hooks);
    EXPECT_FALSE(result.ended.has_value());
    EXPECT_THAT(order, testing::ElementsAre("play 0 log 0", "play 1 log 1", "play 2 log 2"));
    for (const auto& entry : result.entries) EXPECT_TRUE(entry.done);
    EXPECT_EQ(result.labels.size(), 3u);
}

TEST_F(RunSequence, LostSamplesAreTakenAgainAndBothStayInTheLog) {
    steps = {step("CA")};
    const auto result = run("rehearsal:dropping", {}, 1);
    EXPECT_EQ(result.entries[0].plays, 2);
    EXPECT_EQ(result.entries[0].last, TakeOutcome::lost_samples);
    EXPECT_EQ(in_log(), 2u);
}

TEST_F(RunSequence, ADeviceThatDiesAndComesBackFinishesTheRun) {
    steps = {step("CA")};
    Faults told;
    SequenceHooks hooks;
    hooks.trouble = [&](const Fault& fault) { told.push_back(fault); };
    const auto result = run("rehearsal:dying", hooks);
    EXPECT_TRUE(result.entries[0].done) << "dies, is away once, is well";
    EXPECT_EQ(result.entries[0].plays, 3);
    EXPECT_EQ(in_log(), 2u) << "what there was before it died is kept";
    std::string said;
    for (const Fault& fault : told) said += sentence(fault) + "\n";
    EXPECT_THAT(said, testing::HasSubstr("was lost in mid-take"));
    EXPECT_THAT(said, testing::HasSubstr("is not there"));
    EXPECT_FALSE(result.ended.has_value());
}

TEST_F(RunSequence, SkipAndStopReachATakeThatPlays) {
    SequenceHooks hooks;
    int playing = 0;
    hooks.progress = [&](const capture::Progress&) {
        if (control.halt()) return;
        control.press(++playing == 1 ? SequenceKey::skip : SequenceKey::stop);
    };
    const auto result = run("rehearsal", hooks);
    EXPECT_EQ(in_log(), 0u);
    EXPECT_TRUE(result.entries[0].skipped);
    EXPECT_FALSE(result.entries[1].done);
    EXPECT_EQ(result.entries[2].plays, 0);
    EXPECT_FALSE(result.ended.has_value()) << "a stop by hand is no fault";
}

}  // namespace
}  // namespace proofwalk::walk
