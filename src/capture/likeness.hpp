// How much of a known signal is in a channel, and when: to tell a reference from a mic, a lost block from a whole take, and one
// clock from two.
#pragma once

#include <memory>
#include <optional>
#include <span>
#include <vector>

#include "capture/recording.hpp"

namespace proofwalk::capture {

struct Likeness {
    double share = 0.0;     // largest normalised cross correlation, 0..1: a loopback near 1, a mic in a room well below
    double delay_samples = 0.0;  // of the channel after the signal, to a fraction of a sample
    bool inverted = false;
};

// Both at one rate. Nothing when one of them is silent.
[[nodiscard]] std::optional<Likeness> likeness(std::span<const float> signal, std::span<const float> channel);

// The recorder's clock against the player's, ppm: positive when the recording is stretched (the recorder runs fast). Standard
// uncertainty below 1 ppm for a wide-band signal of 1 s and more in a clean loopback; within +-250 ppm (converters stay below 100); nothing beyond, or when it does
// not fit.
[[nodiscard]] std::optional<double> clock_drift_ppm(std::span<const float> signal, std::span<const float> reference, double rate_hz);

// What a loopback carries while the recording was made: the signal played; for overlapped sweeps all of them, or the first alone,
// whichever the reference channel is more like.
[[nodiscard]] std::vector<float> signal_at_reference(const Recording& recording);

// What the named reference is, judged by likeness to the played signal.
enum class ReferenceState { right, missing, swapped };
struct ReferenceCheck {
    ReferenceState state = ReferenceState::right;
    std::optional<int> looks_like_reference;  // channel from 1, when swapped
    // Two halves of the signal that arrive with different delays: samples were lost (negative: the later half comes too early) or
    // added between them. Nothing within half a millisecond, for drift and the phase of a converter reach that far.
    std::optional<double> moved_s;
};
[[nodiscard]] ReferenceCheck check_reference(const Recording& recording);

// The same, with all that follows of the signal made ready before the recording is there. `channel_length`: samples of the
// longest recording to come.
class ReferenceProbe {
public:
    ReferenceProbe(std::span<const float> signal, std::size_t channel_length);
    ReferenceProbe(ReferenceProbe&&) noexcept;
    ReferenceProbe& operator=(ReferenceProbe&&) = delete;
    ~ReferenceProbe();

    [[nodiscard]] std::size_t channel_length() const;
    [[nodiscard]] ReferenceCheck check(const Recording& recording) const;

private:
    struct Work;
    std::unique_ptr<Work> work_;
};

}  // namespace proofwalk::capture
