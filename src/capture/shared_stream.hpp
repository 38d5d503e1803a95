// The memory that a capture's parent and child share: what to do, how far it is, and the samples themselves. It outlives
// the child, so what was captured before a crash is still there.
#pragma once

#include <array>
#include <atomic>
#include <cstddef>
#include <cstdint>
#include <span>
#include <string_view>

#include "units/fault.hpp"

namespace proofwalk::capture {

inline constexpr std::size_t most_stream_channels = 64;
inline constexpr std::size_t most_listed_devices = 128;

enum class Job : std::uint32_t { list, stream };

enum class Phase : std::uint32_t {
    starting,
    running,   // the device has called for samples
    finished,  // all asked for is there, or the list is complete
    stopped,   // faded out because it was asked to
    lost,      // the device went away
    refused,   // the device could not be opened; the message says why
};

struct ListedDevice {
    std::array<char, 192> name{};
    std::array<char, 64> host_system{};
    std::uint32_t inputs = 0, outputs = 0;
    double rate_hz = 0.0;
};

// Lies at the start of the shared memory. Plain members are written by one side before the other looks at them: the
// parent's before the child starts, the child's before it changes `phase`.
struct StreamControl {
    Job job = Job::list;
    std::array<char, 192> device{}, device_host{};      // captures, and plays unless `player` is named
    std::array<char, 192> player{}, player_host{};
    double rate_hz = 48000.0;
    std::uint32_t inputs = 0;                            // channels to open
    std::uint32_t outputs = 0;
    std::uint32_t playing = 0;                           // how many output channels carry a signal
    std::array<std::uint32_t, most_stream_channels> playing_channel{};  // from 0, one per signal
    std::uint64_t play_frames = 0;                       // length of each signal
    std::uint64_t wanted_frames = 0;                     // 0: until it is asked to stop
    std::uint64_t capacity_frames = 0;                   // of each input channel; later frames wrap around
    std::uint64_t fade_frames = 0;

    std::atomic<Phase> phase{Phase::starting};
    std::atomic<std::uint32_t> stop{0};                  // parent asks for a fade and an end
    std::atomic<std::uint64_t> captured_frames{0}, played_frames{0}, callbacks{0};
    std::atomic<std::uint64_t> overflows{0}, underflows{0};
    std::atomic<std::uint64_t> faded_frames{0};

    std::array<char, 512> message{};
    std::uint32_t device_count = 0;
    std::array<ListedDevice, most_listed_devices> devices{};
};
static_assert(std::atomic<std::uint64_t>::is_always_lock_free && std::atomic<Phase>::is_always_lock_free);

// One mapping of the shared memory; the file behind it closes with the last of its holders.
class SharedStream {
public:
    // `shape` gives playing, play_frames, inputs and capacity_frames.
    [[nodiscard]] static Result<SharedStream> create(const StreamControl& shape);
    [[nodiscard]] static Result<SharedStream> attach(int file_descriptor);

    SharedStream(SharedStream&& other) noexcept;
    SharedStream& operator=(SharedStream&&) = delete;
    ~SharedStream();

    [[nodiscard]] StreamControl& control() const { return *control_; }
    [[nodiscard]] int file_descriptor() const { return file_descriptor_; }
    [[nodiscard]] std::span<float> signal(std::size_t playing) const;  // play_frames samples
    [[nodiscard]] std::span<float> input(std::size_t channel) const;   // capacity_frames samples

private:
    SharedStream(int file_descriptor, void* memory, std::size_t bytes);

    int file_descriptor_ = -1;
    std::size_t bytes_ = 0;
    StreamControl* control_ = nullptr;
};

void put_text(std::span<char> target, std::string_view text);
[[nodiscard]] std::string_view get_text(std::span<const char> source);

}  // namespace proofwalk::capture
