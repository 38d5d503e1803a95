// Keys of a terminal while takes run: space pauses, Enter goes at once, s skips, r repeats, q or Escape stops.
#pragma once

#include <termios.h>

#include <thread>

#include "walk/run_sequence.hpp"

namespace proofwalk::cli {

inline constexpr const char* keys_text = "Space: pause  Enter: go  s: skip  r: repeat  q: stop";

// Reads the keyboard in a thread of its own as long as it lives, if standard input is a terminal; puts the terminal back after.
class TakeKeys {
public:
    explicit TakeKeys(walk::SequenceControl& control);
    TakeKeys(const TakeKeys&) = delete;
    TakeKeys& operator=(const TakeKeys&) = delete;
    ~TakeKeys();

    [[nodiscard]] bool attended() const { return attended_; }
    // A question that is answered with y or anything else; false without a terminal.
    [[nodiscard]] bool asked(const std::string& question);

private:
    void read();

    walk::SequenceControl& control_;
    bool attended_ = false;
    termios before_{};
    std::atomic<bool> over_{false};
    std::atomic<int> answer_{no_question};
    std::thread reader_;

    static constexpr int no_question = -1, waiting = 0, yes = 1, no = 2;
};

}  // namespace proofwalk::cli
