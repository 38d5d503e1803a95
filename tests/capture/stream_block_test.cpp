// The real-time side without a device: blocks are handed in as a device would.
#include <gtest/gtest.h>
#include <unistd.h>

#include <cmath>
#include <thread>
#include <vector>

#include "capture/stream_block.hpp"

namespace proofwalk::capture {
namespace {

struct Rig {
    static SharedStream make(std::uint32_t inputs, std::uint32_t outputs, std::vector<std::uint32_t> playing, std::uint64_t play_frames,
                             std::uint64_t wanted, std::uint64_t capacity) {
        StreamControl shape;
        shape.inputs = inputs;
        shape.capacity_frames = capacity;
        shape.playing = static_cast<std::uint32_t>(playing.size());
        shape.play_frames = play_frames;
        auto stream = SharedStream::create(shape);
        EXPECT_TRUE(stream.has_value());
        StreamControl& control = stream->control();
        control.outputs = outputs;
        control.wanted_frames = wanted;
        control.fade_frames = 960;
        for (std::size_t p = 0; p < playing.size(); ++p) {
            control.playing_channel[p] = playing[p];
            for (std::size_t n = 0; n < play_frames; ++n)
                stream->signal(p)[n] = static_cast<float>(p + 1) * static_cast<float>(std::sin(0.05 * static_cast<double>(n)));
        }
        return std::move(*stream);
    }
};

struct Block {
    explicit Block(std::size_t inputs, std::size_t outputs, std::size_t frames)
        : in(inputs, std::vector<float>(frames)), out(outputs, std::vector<float>(frames, 7.0f)) {
        for (auto& channel : in) in_pointers.push_back(channel.data());
        for (auto& channel : out) out_pointers.push_back(channel.data());
    }
    std::vector<std::vector<float>> in, out;
    std::vector<const float*> in_pointers;
    std::vector<float*> out_pointers;
};

// Odd block sizes, as a server with a changing buffer gives them: every sample in its place, other outputs silent.
TEST(StreamBlock, PlaysAndCapturesSampleBySample) {
    const auto stream = Rig::make(2, 4, {1, 3}, 1000, 2500, 2500);
    StreamBlock block(stream);
    std::size_t at = 0;
    bool over = false;
    for (const std::size_t frames : {1u, 63u, 512u, 1000u, 37u, 887u}) {
        Block now(2, 4, frames);
        for (std::size_t n = 0; n < frames; ++n) {
            now.in[0][n] = static_cast<float>(at + n);
            now.in[1][n] = -static_cast<float>(at + n);
        }
        EXPECT_FALSE(over);
        over = block.both(now.in_pointers.data(), now.out_pointers.data(), frames);
        for (std::size_t n = 0; n < frames; ++n) {
            const auto sine = at + n < 1000 ? static_cast<float>(std::sin(0.05 * static_cast<double>(at + n))) : 0.0f;
            ASSERT_EQ(now.out[0][n], 0.0f);
            ASSERT_EQ(now.out[1][n], sine);
            ASSERT_EQ(now.out[2][n], 0.0f);
            ASSERT_EQ(now.out[3][n], 2.0f * sine);
        }
        at += frames;
    }
    EXPECT_EQ(at, 2500u);
    EXPECT_TRUE(over);
    EXPECT_EQ(stream.control().phase.load(), Phase::finished);
    EXPECT_EQ(stream.control().captured_frames.load(), 2500u);
    for (std::size_t n = 0; n < 2500; ++n) {
        ASSERT_EQ(stream.input(0)[n], static_cast<float>(n));
        ASSERT_EQ(stream.input(1)[n], -static_cast<float>(n));
    }
}

TEST(StreamBlock, TakesNoMoreThanWasAskedFor) {
    const auto stream = Rig::make(1, 0, {}, 0, 100, 100);
    StreamBlock block(stream);
    Block now(1, 0, 256);
    EXPECT_TRUE(block.both(now.in_pointers.data(), nullptr, 256));
    EXPECT_EQ(stream.control().captured_frames.load(), 100u);
}

TEST(StreamBlock, WrapsAroundWhenThereIsNoEnd) {
    const auto stream = Rig::make(1, 0, {}, 0, 0, 100);
    StreamBlock block(stream);
    for (std::size_t at = 0; at < 640; at += 64) {
        Block now(1, 0, 64);
        for (std::size_t n = 0; n < 64; ++n) now.in[0][n] = static_cast<float>(at + n);
        EXPECT_FALSE(block.both(now.in_pointers.data(), nullptr, 64));
    }
    EXPECT_EQ(stream.control().captured_frames.load(), 640u);
    for (std::size_t n = 540; n < 640; ++n) EXPECT_EQ(stream.input(0)[n % 100], static_cast<float>(n));
    stream.control().stop.store(1);
    Block now(1, 0, 64);
    EXPECT_TRUE(block.both(now.in_pointers.data(), nullptr, 64));
    EXPECT_EQ(stream.control().phase.load(), Phase::stopped);
}

// The stop key: 20 ms from full level to nothing, without a step, whatever the block size; then silence.
TEST(StreamBlock, FadesWithoutAStepAndEnds) {
    for (const std::size_t frames : {32u, 256u, 1024u, 4096u}) {
        const auto stream = Rig::make(1, 1, {0}, 48000, 48000, 48000);
        StreamControl& control = stream.control();
        StreamBlock block(stream);
        std::vector<float> heard;
        bool over = false;
        std::size_t stop_at = 0;
        for (int count = 0; count < 4000 && !over; ++count) {
            if (heard.size() >= 4096 && control.stop.load() == 0) {
                control.stop.store(1);
                stop_at = heard.size();
            }
            Block now(1, 1, frames);
            over = block.both(now.in_pointers.data(), now.out_pointers.data(), frames);
            heard.insert(heard.end(), now.out[0].begin(), now.out[0].end());
        }
        ASSERT_TRUE(over);
        EXPECT_EQ(control.phase.load(), Phase::stopped);
        ASSERT_GT(heard.size(), stop_at + 960);
        for (std::size_t n = stop_at + 960; n < heard.size(); ++n) ASSERT_EQ(heard[n], 0.0f);
        // A sine of 0.05 rad a sample moves at most 0.05 a sample; the fade adds pi / 2 / 960.
        for (std::size_t n = 1; n < heard.size(); ++n) ASSERT_LT(std::fabs(heard[n] - heard[n - 1]), 0.053f);
        // Ended within the fade and two blocks more.
        EXPECT_LE(heard.size(), stop_at + 960 + 3 * frames);
    }
}

TEST(StreamBlock, CountsWhatTheDeviceReports) {
    const auto stream = Rig::make(1, 0, {}, 0, 10, 10);
    StreamBlock block(stream);
    block.count_overflow();
    block.count_overflow();
    block.count_underflow();
    EXPECT_EQ(stream.control().overflows.load(), 2u);
    EXPECT_EQ(stream.control().underflows.load(), 1u);
}

// The device's thread writes while another one reads what is there already: the thread checker watches this test.
TEST(StreamBlock, AReaderSeesOnlyWholeSamples) {
    const auto stream = Rig::make(1, 1, {0}, 20000, 48000, 48000);
    StreamControl& control = stream.control();
    std::thread device([&] {
        StreamBlock block(stream);
        std::size_t at = 0;
        bool over = false;
        while (!over) {
            Block now(1, 1, 128);
            for (std::size_t n = 0; n < 128; ++n) now.in[0][n] = static_cast<float>(at + n);
            over = block.both(now.in_pointers.data(), now.out_pointers.data(), 128);
            at += 128;
            std::this_thread::yield();
        }
    });
    std::uint64_t seen = 0;
    while (seen < 48000) {
        const std::uint64_t there = control.captured_frames.load(std::memory_order_acquire);
        for (; seen < there; ++seen) ASSERT_EQ(stream.input(0)[seen], static_cast<float>(seen));
    }
    device.join();
    EXPECT_EQ(control.phase.load(), Phase::finished);
}

TEST(SharedStream, RefusesAFileOfAnotherShape) {
    StreamControl shape;
    shape.inputs = 2;
    shape.capacity_frames = 1000;
    auto stream = SharedStream::create(shape);
    ASSERT_TRUE(stream.has_value());
    stream->control().capacity_frames = 1'000'000'000;
    const int descriptor = dup(stream->file_descriptor());
    EXPECT_FALSE(SharedStream::attach(descriptor).has_value());
}

}  // namespace
}  // namespace proofwalk::capture
