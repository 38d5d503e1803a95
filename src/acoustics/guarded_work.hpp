// Work that may crash or hang in a library that is given outside bytes: done by a forked copy of this process, so that it
// takes down the copy alone. Internal to the folder.
#pragma once

#include <chrono>
#include <cstddef>
#include <functional>
#include <vector>

namespace proofwalk::acoustics {

enum class GuardedEnd { answered, crashed, too_slow, too_much, not_started };

struct Guarded {
    GuardedEnd end = GuardedEnd::not_started;
    std::vector<std::byte> answer;  // of `answered` only
};

struct GuardedLimits {
    std::chrono::milliseconds longest{30'000};
    std::size_t most_bytes = std::size_t{256} << 20;
};

// `work` runs in the copy: it sees all memory as it was and changes none of ours. It must not use other threads or locks
// that they might have held.
[[nodiscard]] Guarded guarded(const std::function<std::vector<std::byte>()>& work, const GuardedLimits& limits = {});

}  // namespace proofwalk::acoustics
