// The audio system breaks in mid-take. Loss is said within two seconds, what was captured is kept and marked, and the next
// take works once the device is back.
#include <fmt/format.h>
#include <unistd.h>

#include <thread>

#include "live/struck_room.hpp"

namespace proofwalk::live {
namespace {

class Loss : public StruckRoom {};

TEST_F(Loss, ServerKilledInMidTake) {
    const auto take = struck_take(long_take_s, [&] { room->server().signal(SIGKILL); });
    expect_kept(take);
    if (HasFatalFailure()) return;
    EXPECT_LT(told_after_s, hang_s) << "measured 0.1 s when killed and 1.2 s when frozen on a quiet machine";
    EXPECT_NE(sentence(*take->ended_early).find("lost in mid-take"), std::string::npos);
    ASSERT_TRUE(comes_true(std::chrono::seconds(10), [&] { return !room->server().running(); }));
    const auto next = device->run(sweep_request(48000, 1, 2), {}, stop);
    ASSERT_FALSE(next.has_value());
    EXPECT_EQ(exit_status(next.error()), 3);
}

TEST_F(Loss, ServerFrozenInMidTake) {
    const auto take = struck_take(long_take_s, [&] { room->server().signal(SIGSTOP); });
    expect_kept(take);
    if (HasFatalFailure()) return;
    EXPECT_LT(told_after_s, hang_s) << "measured 0.1 s when killed and 1.2 s when frozen on a quiet machine";
    room->server().signal(SIGCONT);
}

// What a suspended laptop or a debugger does to the process that talks to the audio system: it stands still and never says so.
TEST_F(Loss, CaptureProcessFrozenInMidTake) {
    const auto take = struck_take(long_take_s, [&] {
        const auto child = capture_child_of(getpid());
        ASSERT_TRUE(child.has_value());
        kill(*child, SIGSTOP);
    });
    expect_kept(take);
    if (HasFatalFailure()) return;
    EXPECT_LT(told_after_s, hang_s) << "measured 1.2 s on a quiet machine";
    EXPECT_FALSE(capture_child_of(getpid()).has_value()) << "it is ended, not left behind";
}

TEST_F(Loss, CaptureProcessKilledInMidTake) {
    const auto take = struck_take(long_take_s, [&] {
        const auto child = capture_child_of(getpid());
        ASSERT_TRUE(child.has_value());
        kill(*child, SIGKILL);
    });
    expect_kept(take);
    if (HasFatalFailure()) return;
    EXPECT_NE(sentence(*take->ended_early).find("crashed"), std::string::npos) << sentence(*take->ended_early);
    // The server may have fallen with its client; if it lives, the next take works.
    const auto next = device->run(sweep_request(48000, 1, 2), {}, stop);
    if (!next) {
        EXPECT_EQ(exit_status(next.error()), 3);
    }
}

// The whole machine stands still for a moment, as a laptop does whose lid was closed: server, engine and capture process.
TEST_F(Loss, ASuspendIsSaidOrTheTakeIsWhole) {
    const auto take = struck_take(4.0, [&] {
        const auto child = capture_child_of(getpid());
        ASSERT_TRUE(child.has_value());
        for (const pid_t id : {*child, room->engine().id(), room->server().id()}) kill(id, SIGSTOP);
        std::this_thread::sleep_for(std::chrono::milliseconds(600));
        for (const pid_t id : {room->server().id(), room->engine().id(), *child}) kill(id, SIGCONT);
    });
    ASSERT_TRUE(take.has_value()) << sentence(take.error());
    if (take->lost_samples) return;  // said
    const auto heard = readings(*take);
    ASSERT_TRUE(heard[0].arrival_s.has_value());
    EXPECT_NEAR(heard[0].arrival_s->value * 48000.0, 240.0, 1.0);
    EXPECT_NEAR(heard[0].aim_band_db->value, -6.02, 0.1);
}

// A cable that is out for a tenth of a second, loopback or mic: no flag of the audio system says so.
TEST_F(Loss, ACablePulledForATenthOfASecondIsFoundInTheSamples) {
    for (const auto& [from, to] : {std::pair{"jconvolver:out-2", "in_1"}, std::pair{"jconvolver:out-1", "in_0"}}) {
        bool pulled = false;
        const auto take = struck_take(6.0, [&] {
            const auto child = capture_child_of(getpid());
            ASSERT_TRUE(child.has_value());
            const std::string port = fmt::format("proofwalk-{}:{}", *child, to);
            pulled = tool({"jack_disconnect", from, port}) == 0;
            std::this_thread::sleep_for(std::chrono::milliseconds(100));
            EXPECT_EQ(tool({"jack_connect", from, port}), 0);
        });
        ASSERT_TRUE(take.has_value()) << sentence(take.error());
        ASSERT_TRUE(pulled);
        EXPECT_TRUE(take->lost_samples);
        EXPECT_FALSE(take->channel_faults.empty());
    }
}

// Another program changes the server's block size: what is captured afterwards must not pass for whole if it is not.
TEST_F(Loss, ABlockSizeChangedByAnotherProgramIsNeverTrustedInSilence) {
    bool changed = false;
    const auto take = struck_take(5.0, [&] { changed = tool({"jack_bufsize", "512"}) == 0; });
    ASSERT_TRUE(changed);
    if (!take) {
        EXPECT_EQ(exit_status(take.error()), 3);
        return;
    }
    if (take->lost_samples) return;
    const auto heard = readings(*take);
    ASSERT_TRUE(heard[0].arrival_s.has_value());
    EXPECT_NEAR(heard[0].arrival_s->value * 48000.0, 240.0, 1.0) << "it claims to be whole, so it has to be";
    EXPECT_NEAR(heard[0].aim_band_db->value, -6.02, 0.1);
    EXPECT_TRUE(heard[0].flags.empty());
}

TEST_F(Loss, EngineKilledInMidTakeIsFoundInTheSamples) {
    const auto take = struck_take(5.0, [&] { room->engine().signal(SIGKILL); });
    ASSERT_TRUE(take.has_value()) << sentence(take.error());
    EXPECT_TRUE(take->lost_samples);
    ASSERT_FALSE(take->channel_faults.empty());
    // The server may fall over its dead client; then the take has ended early and says so.
    if (take->ended_early) return;
    EXPECT_NE(all_sentences(take->channel_faults).find("exact zeros"), std::string::npos) << all_sentences(take->channel_faults);
}

TEST_F(Loss, DeviceThatWasGoneAndCameBackTakesAgain) {
    room->end_engine();
    const auto gone = device->run(sweep_request(48000, 1, 2), {}, stop);
    ASSERT_FALSE(gone.has_value());
    EXPECT_NE(sentence(gone.error()).find("not there"), std::string::npos) << sentence(gone.error());
    room->start_engine();
    room->freewheel();
    const auto back = device->run(sweep_request(48000, 1, 2), {}, stop);
    ASSERT_TRUE(back.has_value()) << sentence(back.error());
    EXPECT_FALSE(back->lost_samples) << all_sentences(back->channel_faults);
}

TEST_F(Loss, StoppedByHandEndsAtOnce) {
    const auto take = struck_take(long_take_s, [&] { stop = true; });
    ASSERT_FALSE(take.has_value());
    EXPECT_NE(sentence(take.error()).find("stopped by hand"), std::string::npos);
    EXPECT_LT(told_after_s, hang_s) << "measured 0.1 s on a quiet machine";
}

TEST_F(Loss, WhatTheDeviceCannotDoIsSaidInOneSentence) {
    auto many = sweep_request(48000, 1, 2);
    many.inputs = 9;
    const auto too_many = device->run(many, {}, stop);
    ASSERT_FALSE(too_many.has_value());
    EXPECT_NE(sentence(too_many.error()).find("has 2 inputs"), std::string::npos);
    const auto wrong_rate = device->run(sweep_request(96000, 1, 2), {}, stop);
    ASSERT_FALSE(wrong_rate.has_value());
    EXPECT_NE(sentence(wrong_rate.error()).find("96000 Hz"), std::string::npos) << sentence(wrong_rate.error());
    const auto unknown = capture::open_device("jconvoluter");
    ASSERT_FALSE(unknown.has_value());
    EXPECT_NE(sentence(unknown.error()).find("jconvolver"), std::string::npos) << sentence(unknown.error());
}

}  // namespace
}  // namespace proofwalk::live
