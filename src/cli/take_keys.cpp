#include "cli/take_keys.hpp"

#include <poll.h>
#include <unistd.h>

#include <chrono>
#include <iostream>
#include <optional>

namespace proofwalk::cli {
namespace {

constexpr int look_every_ms = 20;
constexpr char escape = 27;

std::optional<walk::SequenceKey> key_of(char c) {
    switch (c) {
        case ' ': case 'p': return walk::SequenceKey::pause;
        case '\r': case '\n': case 'g': return walk::SequenceKey::go;
        case 's': return walk::SequenceKey::skip;
        case 'r': return walk::SequenceKey::repeat;
        case 'q': case escape: return walk::SequenceKey::stop;
        default: return std::nullopt;
    }
}

}  // namespace

TakeKeys::TakeKeys(walk::SequenceControl& control) : control_(control) {
    attended_ = isatty(STDIN_FILENO) != 0 && isatty(STDERR_FILENO) != 0 && tcgetattr(STDIN_FILENO, &before_) == 0;
    if (!attended_) return;
    // Keys come at once and unseen; Ctrl-C stays a signal.
    termios at_once = before_;
    at_once.c_lflag &= ~static_cast<tcflag_t>(ICANON | ECHO);
    at_once.c_cc[VMIN] = 0;
    at_once.c_cc[VTIME] = 0;
    tcsetattr(STDIN_FILENO, TCSANOW, &at_once);
    reader_ = std::thread([this] { read(); });
}

TakeKeys::~TakeKeys() {
    if (!attended_) return;
    over_ = true;
    reader_.join();
    tcsetattr(STDIN_FILENO, TCSANOW, &before_);
}

void TakeKeys::read() {
    while (!over_) {
        pollfd keyboard{STDIN_FILENO, POLLIN, 0};
        if (poll(&keyboard, 1, look_every_ms) <= 0) continue;
        char c = 0;
        if (::read(STDIN_FILENO, &c, 1) != 1) {
            std::this_thread::sleep_for(std::chrono::milliseconds(look_every_ms));
            continue;
        }
        int expected = waiting;
        if (answer_.compare_exchange_strong(expected, c == 'y' || c == 'Y' ? yes : no)) continue;
        if (const auto key = key_of(c)) control_.press(*key);
    }
}

bool TakeKeys::asked(const std::string& question) {
    if (!attended_) return false;
    std::cerr << question << " y/n " << std::flush;
    answer_ = waiting;
    while (answer_ == waiting && !control_.halt()) std::this_thread::sleep_for(std::chrono::milliseconds(look_every_ms));
    const bool agreed = answer_.exchange(no_question) == yes;
    std::cerr << (agreed ? "yes" : "no") << '\n';
    return agreed;
}

}  // namespace proofwalk::cli
