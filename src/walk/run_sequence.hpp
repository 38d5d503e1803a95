// Plays a sequence: each take is on the disk and judged before the next one begins.
#pragma once

#include <atomic>
#include <functional>
#include <string>
#include <vector>

#include "walk/sequence.hpp"
#include "walk/session.hpp"

namespace proofwalk::walk {

// What a person wants, from any thread and from a signal handler.
class SequenceControl {
public:
    void press(SequenceKey key) {
        keys_.fetch_or(static_cast<std::uint32_t>(key));
        if (key == SequenceKey::skip || key == SequenceKey::stop) halt_.store(true);
    }
    // Ends the take that plays, within its fade.
    [[nodiscard]] const std::atomic<bool>& halt() const { return halt_; }

    // For the one who plays.
    [[nodiscard]] std::uint32_t take_keys() { return keys_.exchange(0); }
    void lift_halt() { halt_.store(false); }

private:
    std::atomic<std::uint32_t> keys_{0};
    std::atomic<bool> halt_{false};
};
static_assert(std::atomic<std::uint32_t>::is_always_lock_free && std::atomic<bool>::is_always_lock_free);

struct SequenceHooks {
    // The phase, the take or the second of the count-in changed.
    std::function<void(const Sequence&, double count_in_left_s)> moved;
    std::function<void(const capture::Progress&)> progress;
    std::function<void(const StoredTake&)> stored;   // on the disk
    std::function<void(const StoredTake&)> judged;   // and judged
    std::function<void(const Fault&)> trouble;       // of one take; the sequence goes on or pauses
};

struct SequenceResult {
    std::vector<Sequence::Entry> entries;  // one per step
    std::vector<std::string> labels;       // of the takes stored, in order
    std::optional<Fault> ended;            // why it ended before its end; a stop by hand is none
};

// `by_hand`: one output feeds all circuits and somebody unmutes; each circuit then waits for go.
[[nodiscard]] SequenceResult run_sequence(Show& show, const TakeSource& source, const std::vector<Step>& steps, const Setup& setup, bool by_hand,
                                          const SequenceRules& rules, SequenceControl& control, const SequenceHooks& hooks);

// How a stored take went, for the sequence.
[[nodiscard]] TakeOutcome outcome_of(const StoredTake& stored);

}  // namespace proofwalk::walk
