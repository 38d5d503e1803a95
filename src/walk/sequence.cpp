#include "walk/sequence.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

namespace proofwalk::walk {
namespace {

constexpr double time_to_come_back_s = 2.0;  // for a device that was lost, where nobody is there to say go

}  // namespace

Sequence::Sequence(std::vector<bool> by_hand, SequenceRules rules) : rules_(rules) {
    for (const bool hand : by_hand) entries_.push_back({.by_hand = hand});
}

void Sequence::start(double now_s) {
    at_ = 0;
    enter(now_s);
}

void Sequence::enter(double now_s) {
    if (at_ >= entries_.size()) {
        phase_ = SequencePhase::over;
        return;
    }
    // Who unmuted a circuit once has it unmuted for its repeats too.
    phase_ = entries_[at_].by_hand && entries_[at_].plays == 0 ? SequencePhase::by_hand : SequencePhase::count_in;
    play_at_s_ = now_s + rules_.count_in_s;
}

void Sequence::leave(double now_s) {
    ++at_;
    enter(now_s);
    if (pause_after_ && phase_ != SequencePhase::over) phase_ = SequencePhase::paused;
    pause_after_ = false;
}

void Sequence::press(SequenceKey key, double now_s) {
    if (phase_ == SequencePhase::over) return;
    const bool playing = phase_ == SequencePhase::playing;
    switch (key) {
        case SequenceKey::pause:
            if (playing)
                pause_after_ = !pause_after_;
            else if (phase_ == SequencePhase::paused)
                enter(now_s);
            else
                phase_ = SequencePhase::paused;
            break;
        case SequenceKey::go:
            if (phase_ == SequencePhase::count_in) play_at_s_ = now_s;
            if (phase_ == SequencePhase::paused) enter(now_s);
            if (phase_ == SequencePhase::by_hand) {
                phase_ = SequencePhase::count_in;
                play_at_s_ = now_s + rules_.count_in_s;
            }
            break;
        case SequenceKey::skip:
            if (playing) {
                skip_after_ = true;
                break;
            }
            pause_after_ = phase_ == SequencePhase::paused;
            entries_[at_].skipped = true;
            says_.clear();
            leave(now_s);
            break;
        case SequenceKey::repeat:
            if (playing) {
                repeat_after_ = true;
                break;
            }
            if (entries_[at_].plays == 0 && at_ > 0) --at_;
            entries_[at_].done = entries_[at_].skipped = false;
            says_ = "again, as asked";
            enter(now_s);
            break;
        case SequenceKey::stop:
            if (playing)
                stop_after_ = true;
            else
                phase_ = SequencePhase::over;
            break;
    }
}

bool Sequence::due(double now_s) {
    if (phase_ != SequencePhase::count_in || now_s < play_at_s_) return false;
    phase_ = SequencePhase::playing;
    ++entries_[at_].plays;
    return true;
}

void Sequence::again_or_on(std::string why, double now_s) {
    Entry& entry = entries_[at_];
    if (entry.repeats < rules_.automatic_repeats) {
        ++entry.repeats;
        says_ = fmt::format("again, {} of {}: {}", entry.repeats, rules_.automatic_repeats, why);
        enter(now_s);
        if (std::exchange(pause_after_, false)) phase_ = SequencePhase::paused;
        return;
    }
    says_ = fmt::format("kept as it is after {} repeats: {}", entry.repeats, why);
    entry.done = true;
    leave(now_s);
}

void Sequence::played(TakeOutcome outcome, double now_s) {
    if (phase_ != SequencePhase::playing) return;
    Entry& entry = entries_[at_];
    entry.last = outcome;
    says_.clear();
    const bool skip = std::exchange(skip_after_, false), repeat = std::exchange(repeat_after_, false), stop = std::exchange(stop_after_, false);
    if (outcome == TakeOutcome::good) entry.done = true;
    if (stop || outcome == TakeOutcome::failed) {
        phase_ = SequencePhase::over;
        return;
    }
    if (skip && outcome != TakeOutcome::good) {
        entry.skipped = true;
        return leave(now_s);
    }
    if (repeat) {
        says_ = "again, as asked";
        return enter(now_s);
    }
    switch (outcome) {
        case TakeOutcome::burst: return again_or_on("a burst of noise", now_s);
        case TakeOutcome::lost_samples: return again_or_on("samples were lost", now_s);
        case TakeOutcome::device_lost:
            if (rules_.attended) {
                says_ = "the device was lost: bring it back, then go on";
                phase_ = SequencePhase::paused;
            } else if (entry.repeats < rules_.automatic_repeats) {
                again_or_on("the device was lost", now_s);
                play_at_s_ = std::max(play_at_s_, now_s + time_to_come_back_s);
            } else {
                says_ = "the device was lost";
                phase_ = SequencePhase::over;
            }
            return;
        case TakeOutcome::stopped:  // without being asked to skip or to stop the run
            phase_ = SequencePhase::paused;
            return;
        default: leave(now_s);
    }
}

double Sequence::count_in_left_s(double now_s) const {
    return phase_ == SequencePhase::count_in ? std::max(0.0, play_at_s_ - now_s) : 0.0;
}

}  // namespace proofwalk::walk
