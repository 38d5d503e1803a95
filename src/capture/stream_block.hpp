// What happens when a device calls for samples. Called from its real-time thread: nothing here allocates, locks, waits or
// asks the system for anything.
#pragma once

#include <cstddef>

#include "capture/shared_stream.hpp"

namespace proofwalk::capture {

class StreamBlock {
public:
    explicit StreamBlock(const SharedStream& stream);

    // outputs[c] and inputs[c] hold `frames` samples; outputs not playing become silent. True once there is nothing left to do:
    // all frames are captured, or the fade after a stop is over.
    [[nodiscard]] bool both(const float* const* inputs, float* const* outputs, std::size_t frames);
    // Two devices: each calls for its own side.
    [[nodiscard]] bool capture(const float* const* inputs, std::size_t frames);
    [[nodiscard]] bool play(float* const* outputs, std::size_t frames);

    void count_overflow() { add(control_.overflows); }
    void count_underflow() { add(control_.underflows); }

private:
    // One writer each, so a plain load and store is enough.
    static void add(std::atomic<std::uint64_t>& counter, std::uint64_t by = 1) {
        counter.store(counter.load(std::memory_order_relaxed) + by, std::memory_order_release);
    }
    void finish(Phase phase);

    const SharedStream& stream_;
    StreamControl& control_;
};

}  // namespace proofwalk::capture
