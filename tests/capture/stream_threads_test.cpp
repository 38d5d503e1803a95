// The device's thread and the watching one on the same memory, as the capture process and its parent are. Meant for the thread checker
// (tests/sanitize.sh thread): what one side reads, the other has finished writing.
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <thread>
#include <vector>

#include "capture/shared_stream.hpp"
#include "capture/stream_block.hpp"

namespace proofwalk::capture {
namespace {

constexpr std::size_t block = 64;

Result<SharedStream> shared(std::uint32_t inputs, std::uint64_t capacity, std::uint32_t playing, std::uint64_t play_frames) {
    StreamControl shape;
    shape.inputs = inputs;
    shape.capacity_frames = capacity;
    shape.playing = playing;
    shape.play_frames = play_frames;
    return SharedStream::create(shape);
}

// Two inputs, two outputs; input sample n is n, so that a reader sees what it reads.
class DeviceThread {
public:
    explicit DeviceThread(const SharedStream& stream) : block_(stream) {}

    bool call(std::uint64_t first) {
        for (std::size_t n = 0; n < block; ++n) in_[n] = static_cast<float>((first + n) % 1024);
        const std::array<const float*, 2> inputs{in_.data(), in_.data()};
        const std::array<float*, 2> outputs{left_.data(), right_.data()};
        return block_.both(inputs.data(), outputs.data(), block);
    }
    [[nodiscard]] const std::array<float, block>& left() const { return left_; }

private:
    StreamBlock block_;
    std::array<float, block> in_{}, left_{}, right_{};
};

TEST(StreamThreads, AStopFadesAndEnds) {
    constexpr std::uint64_t frames = 1 << 20;
    auto stream = shared(2, frames, 1, frames);
    ASSERT_TRUE(stream.has_value());
    StreamControl& control = stream->control();
    control.wanted_frames = frames;
    control.outputs = 2;
    control.fade_frames = 960;
    for (float& sample : stream->signal(0)) sample = 1.0f;
    std::atomic<bool> silent{false};
    std::thread device([&] {
        DeviceThread thread(*stream);
        for (std::uint64_t n = 0; !thread.call(n); n += block)
            std::this_thread::yield();
        silent = thread.left().back() == 0.0f;
    });
    while (control.captured_frames.load(std::memory_order_acquire) < 10 * block) std::this_thread::yield();
    control.stop.store(1, std::memory_order_release);
    device.join();
    if (control.phase.load() == Phase::finished) return;  // it was through before the stop came
    EXPECT_EQ(control.phase.load(), Phase::stopped);
    EXPECT_TRUE(silent);
}

// Meters read a ring while it is written; the oldest quarter is left to the writer.
TEST(StreamThreads, ARingIsReadBehindItsWriter) {
    constexpr std::uint64_t capacity = 64 * 64;
    auto stream = shared(2, capacity, 0, 0);
    ASSERT_TRUE(stream.has_value());
    StreamControl& control = stream->control();
    std::atomic<std::uint64_t> read{0};
    std::thread device([&] {
        DeviceThread thread(*stream);
        for (std::uint64_t n = 0; n < 64 * 3000; n += block) {
            // A real device writes at its own pace, far slower than a look at the ring takes.
            while (n > read.load(std::memory_order_acquire) + capacity / 4) std::this_thread::yield();
            (void)thread.call(n);
        }
        control.stop.store(1, std::memory_order_release);
    });
    while (control.stop.load(std::memory_order_acquire) == 0) {
        const std::uint64_t now = control.captured_frames.load(std::memory_order_acquire);
        const std::uint64_t kept = capacity - capacity / 4;
        const std::uint64_t first = std::max(now > kept ? now - kept : 0, read.load(std::memory_order_relaxed));
        for (std::uint64_t n = first; n < now; ++n) ASSERT_EQ(stream->input(0)[n % capacity], static_cast<float>(n % 1024));
        read.store(now, std::memory_order_release);
    }
    device.join();
}

}  // namespace
}  // namespace proofwalk::capture
