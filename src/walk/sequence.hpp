// A run of takes as one act: count-in, pause, skip, repeat, and a take that a burst of noise or lost samples spoilt is repeated by
// itself. Knows no device and no clock: it is told what time it is and how each take went.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

namespace proofwalk::walk {

enum class SequencePhase {
    by_hand,   // somebody unmutes the circuit, then says go
    count_in,
    playing,
    paused,
    over,
};

enum class SequenceKey : std::uint32_t {
    pause = 1,   // while a take plays: after it; again: go on
    skip = 2,    // this circuit is left out; its take stops
    repeat = 4,  // the take that plays, else the one before, once more
    go = 8,      // at once
    stop = 16,   // the end; a take that plays stops
};

enum class TakeOutcome {
    good,
    burst,         // kept, but a burst of noise hit it
    lost_samples,  // kept, but samples are missing
    device_lost,   // the device went away; what there was is kept
    stopped,       // by hand
    failed,        // nothing more can be taken: the log, the plan, a refusal
};

struct SequenceRules {
    double count_in_s = 3.0;
    int automatic_repeats = 2;   // of one circuit
    bool attended = true;        // false: nobody is there to say go on, so a lost device is tried again and then ends the run
};

class Sequence {
public:
    // One entry per take, in order: true where somebody unmutes by hand first.
    Sequence(std::vector<bool> by_hand, SequenceRules rules);

    struct Entry {
        bool by_hand = false;
        bool done = false, skipped = false;
        int plays = 0, repeats = 0;  // repeats: automatic ones
        TakeOutcome last = TakeOutcome::stopped;  // of the newest play
    };

    // Times are seconds of any clock that never goes back.
    void start(double now_s);
    void press(SequenceKey key, double now_s);
    // True once when the take `at()` is to be played now; then played() has to follow.
    [[nodiscard]] bool due(double now_s);
    void played(TakeOutcome outcome, double now_s);

    [[nodiscard]] SequencePhase phase() const { return phase_; }
    [[nodiscard]] std::size_t at() const { return at_; }
    [[nodiscard]] const std::vector<Entry>& entries() const { return entries_; }
    [[nodiscard]] double count_in_left_s(double now_s) const;
    // Why it stands where it does, for people: "again, 1 of 2: a burst of noise"; empty where there is nothing to say.
    [[nodiscard]] const std::string& says() const { return says_; }

private:
    void enter(double now_s);
    void leave(double now_s);  // to the next entry
    void again_or_on(std::string why, double now_s);

    std::vector<Entry> entries_;
    SequenceRules rules_;
    SequencePhase phase_ = SequencePhase::over;
    std::size_t at_ = 0;
    double play_at_s_ = 0.0;
    bool pause_after_ = false, repeat_after_ = false, skip_after_ = false, stop_after_ = false;
    std::string says_;
};

}  // namespace proofwalk::walk
