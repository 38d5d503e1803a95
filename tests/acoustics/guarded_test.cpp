// Reading that crashes, hangs or answers nonsense takes nothing down with it.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <atomic>
#include <cmath>
#include <cstring>
#include <fstream>
#include <stdexcept>
#include <thread>

#include "acoustics/guarded_work.hpp"
#include "acoustics/sofa_content.hpp"
#include "acoustics/sofa_writer.hpp"

namespace proofwalk::acoustics {
namespace {

using namespace std::chrono_literals;
using Bytes = std::vector<std::byte>;

TEST(Guarded, GivesTheAnswerWhole) {
    Bytes large(3'000'000);
    for (std::size_t at = 0; at < large.size(); ++at) large[at] = static_cast<std::byte>(at * 7 >> 3);
    const Guarded done = guarded([&] { return large; });
    EXPECT_EQ(done.end, GuardedEnd::answered);
    EXPECT_EQ(done.answer, large);
    EXPECT_EQ(guarded([] { return Bytes{}; }).end, GuardedEnd::answered);
}

TEST(Guarded, ACrashIsAnAnswerToo) {
    for (const int number : {SIGSEGV, SIGABRT, SIGKILL, SIGBUS})
        EXPECT_EQ(guarded([&]() -> Bytes {
                      ::raise(number);
                      return Bytes(1);
                  }).end,
                  GuardedEnd::crashed)
            << number;
    EXPECT_EQ(guarded([]() -> Bytes { throw std::runtime_error("from a library"); }).end, GuardedEnd::crashed);
    EXPECT_EQ(guarded([]() -> Bytes { ::_exit(0); }).end, GuardedEnd::crashed);
    EXPECT_EQ(::waitpid(-1, nullptr, WNOHANG), -1) << "no child is left behind";
}

TEST(Guarded, AHangAndAFloodEnd) {
    const auto start = std::chrono::steady_clock::now();
    EXPECT_EQ(guarded([]() -> Bytes { for (;;) std::this_thread::sleep_for(1s); }, {.longest = 50ms}).end, GuardedEnd::too_slow);
    EXPECT_LT(std::chrono::steady_clock::now() - start, 20s);
    EXPECT_EQ(guarded([] { return Bytes(2000); }, {.most_bytes = 1000}).end, GuardedEnd::too_much);
}

TEST(Guarded, ManyAtOnceDoNotWaitForEachOther) {
    std::vector<std::thread> threads;
    std::atomic<int> answered{0};
    for (int thread = 0; thread < 8; ++thread)
        threads.emplace_back([&, thread] {
            const Guarded done = guarded([thread] { return Bytes(static_cast<std::size_t>(1000 * thread + 1), static_cast<std::byte>(thread)); });
            if (done.end == GuardedEnd::answered && done.answer == Bytes(static_cast<std::size_t>(1000 * thread + 1), static_cast<std::byte>(thread)))
                ++answered;
        });
    for (auto& thread : threads) thread.join();
    EXPECT_EQ(answered, 8);
}

std::vector<SofaDirection> six_directions() {
    std::vector<SofaDirection> six;
    for (const Vec3 towards : {Vec3{1, 0, 0}, Vec3{-1, 0, 0}, Vec3{0, 1, 0}, Vec3{0, -1, 0}, Vec3{0, 0, 1}, Vec3{0, 0, -1}}) {
        six.push_back({towards, {}});
        six.back().level_db[17] = -3.25;
    }
    return six;
}

TEST(SofaReply, ComesThroughToTheBit) {
    const auto read = from_reply(reply_of(six_directions()));
    ASSERT_TRUE(read.has_value());
    ASSERT_EQ(read->size(), 6U);
    EXPECT_EQ((*read)[2].towards.y, 1.0);
    EXPECT_EQ((*read)[2].level_db[17], -3.25);
    EXPECT_FALSE((*read)[2].level_db.has(16));
    const auto refused = from_reply(reply_of(std::unexpected(Fault{FaultKind::input, "", "", "no such file", "give one"})));
    ASSERT_FALSE(refused.has_value());
    EXPECT_EQ(refused.error().reason, "no such file");
    EXPECT_EQ(refused.error().remedy, "give one");
}

TEST(SofaReply, WhatWasNeverAReadingIsRefused) {
    const Bytes whole = reply_of(six_directions());
    for (std::size_t size = 0; size < whole.size(); size += 7)
        EXPECT_FALSE(from_reply(std::span{whole}.first(size)).has_value()) << size;
    Bytes crooked = whole;
    const double long_one = 2.0;
    std::memcpy(crooked.data() + 1, &long_one, sizeof long_one);
    EXPECT_FALSE(from_reply(crooked).has_value()) << "a direction of length two";
    const double nothing = std::nan("");
    std::memcpy(crooked.data() + 1, &nothing, sizeof nothing);
    EXPECT_FALSE(from_reply(crooked).has_value());
    Bytes long_text = reply_of(std::unexpected(Fault{FaultKind::input, "", "", "reason", ""}));
    long_text[4] = std::byte{0xff};  // a size of four thousand million
    EXPECT_FALSE(from_reply(long_text).has_value());
}

// Every eighth byte of a small file spoilt, one after another: each is a reading or a sentence.
TEST(SofaFile, SpoiltBytesNeverTakeTheProgramDown) {
    const std::filesystem::path file = std::filesystem::path(testing::TempDir()) / ("proofwalk_spoilt_" + std::to_string(::getpid()) + ".sofa");
    std::vector<MeasuredDirection> directions;
    for (const double v_deg : {-60.0, 0.0, 60.0})
        for (const double h_deg : {-90.0, 0.0, 90.0, 180.0}) directions.push_back({h_deg, v_deg, {1.0, 0.5}});
    write_directivity_tf(file, {1000.0, 2000.0}, directions);
    std::string bytes;
    {
        std::ifstream stream(file, std::ios::binary);
        bytes.assign(std::istreambuf_iterator<char>(stream), {});
    }
    ASSERT_TRUE(read_sofa(file).has_value());
    int refused = 0;
    const std::size_t step = std::max<std::size_t>(8, bytes.size() / 400);
    for (std::size_t at = 0; at < bytes.size(); at += step) {
        std::string spoilt = bytes;
        spoilt[at] = static_cast<char>(spoilt[at] ^ 0x5b);
        std::ofstream(file, std::ios::binary).write(spoilt.data(), static_cast<std::streamsize>(spoilt.size()));
        const auto read = read_sofa(file);
        if (read) continue;
        ++refused;
        EXPECT_FALSE(read.error().reason.empty());
    }
    EXPECT_GT(refused, 0);
    std::filesystem::remove(file);
}

}  // namespace
}  // namespace proofwalk::acoustics
