// What went wrong at a boundary (a file, a device, a log, a person's input), told as a value.
// Mistakes of our own are asserts; everything that can happen on site is a Fault.
#pragma once

#include <expected>
#include <string>
#include <vector>

namespace proofwalk {

enum class FaultKind {
    input,   // bad usage or bad input: exit status 2
    device,  // an audio device failed: exit status 3
    log,     // the log could not be read or written: exit status 3
};

// One sentence: where (file, place), what is wrong and what to do about it.
struct Fault {
    FaultKind kind = FaultKind::input;
    std::string file;    // path as the person gave it; empty when no file is meant
    std::string place;   // "line 12", "take t03, channel 4", ...; may be empty
    std::string reason;  // lower case, no full stop
    std::string remedy;  // what to do, lower case, no full stop; may be empty
};

using Faults = std::vector<Fault>;

template <class T>
using Result = std::expected<T, Fault>;

// For inputs that are checked as a whole: every fault is told in one run.
template <class T>
using Checked = std::expected<T, Faults>;

// "plan.toml, line 12: unknown key "gian_db"; did you mean "gain_db"?"
[[nodiscard]] std::string sentence(const Fault& fault);

// Exit status of a command that ends with this fault: 2 for input, 3 for device and log.
[[nodiscard]] int exit_status(const Fault& fault);

}  // namespace proofwalk
