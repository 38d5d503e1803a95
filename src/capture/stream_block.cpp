#include "capture/stream_block.hpp"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <numbers>

namespace proofwalk::capture {

StreamBlock::StreamBlock(const SharedStream& stream) : stream_(stream), control_(stream.control()) {}

void StreamBlock::finish(Phase phase) {
    Phase expected = Phase::running;
    control_.phase.compare_exchange_strong(expected, phase, std::memory_order_acq_rel);
}

bool StreamBlock::both(const float* const* inputs, float* const* outputs, std::size_t frames) {
    const bool played = outputs != nullptr && play(outputs, frames);
    const bool captured = inputs != nullptr && capture(inputs, frames);
    return played || captured;
}

bool StreamBlock::capture(const float* const* inputs, std::size_t frames) {
    Phase expected = Phase::starting;
    control_.phase.compare_exchange_strong(expected, Phase::running, std::memory_order_acq_rel);
    add(control_.callbacks);
    const std::uint64_t done = control_.captured_frames.load(std::memory_order_relaxed);
    std::uint64_t left = frames;
    if (control_.wanted_frames > 0) left = std::min<std::uint64_t>(left, control_.wanted_frames - std::min(done, control_.wanted_frames));
    for (std::size_t c = 0; c < control_.inputs; ++c) {
        const auto target = stream_.input(c);
        std::uint64_t copied = 0;
        while (copied < left) {
            const std::uint64_t at = (done + copied) % control_.capacity_frames;
            const std::uint64_t count = std::min(left - copied, control_.capacity_frames - at);
            std::memcpy(target.data() + at, inputs[c] + copied, count * sizeof(float));
            copied += count;
        }
    }
    add(control_.captured_frames, left);
    if (control_.wanted_frames > 0 && done + left >= control_.wanted_frames) {
        finish(Phase::finished);
        return true;
    }
    // Nothing plays, so there is nothing to fade.
    if (control_.playing == 0 && control_.stop.load(std::memory_order_acquire) != 0) {
        finish(Phase::stopped);
        return true;
    }
    return false;
}

bool StreamBlock::play(float* const* outputs, std::size_t frames) {
    for (std::size_t c = 0; c < control_.outputs; ++c) std::memset(outputs[c], 0, frames * sizeof(float));
    const std::uint64_t done = control_.played_frames.load(std::memory_order_relaxed);
    std::uint64_t faded = control_.faded_frames.load(std::memory_order_relaxed);
    const bool stopping = control_.stop.load(std::memory_order_acquire) != 0;
    const std::uint64_t left = done < control_.play_frames ? std::min<std::uint64_t>(frames, control_.play_frames - done) : 0;
    for (std::size_t p = 0; p < control_.playing; ++p)
        std::memcpy(outputs[control_.playing_channel[p]], stream_.signal(p).data() + done, left * sizeof(float));
    if (stopping) {
        for (std::size_t n = 0; n < frames; ++n, ++faded) {
            const double part = static_cast<double>(faded) / static_cast<double>(std::max<std::uint64_t>(control_.fade_frames, 1));
            const auto gain = faded < control_.fade_frames ? static_cast<float>(0.5 + 0.5 * std::cos(std::numbers::pi * part)) : 0.0f;
            for (std::size_t p = 0; p < control_.playing; ++p) outputs[control_.playing_channel[p]][n] *= gain;
        }
        control_.faded_frames.store(faded, std::memory_order_release);
    }
    control_.played_frames.store(done + frames, std::memory_order_release);
    // One whole block of silence more, so that the last faded samples have reached the converter.
    if (stopping && faded >= control_.fade_frames + frames) {
        finish(Phase::stopped);
        return true;
    }
    return false;
}

}  // namespace proofwalk::capture
