// What a WAV file's header promises, compared with the bytes that are there: a copy that was cut short must not pass for
// a whole take, and the reading library shortens it without a word.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace proofwalk::capture {

// The reason why a RIFF, RF64 or W64 file is not whole; nothing when it is, or when it is no file of these kinds.
[[nodiscard]] std::optional<std::string> why_not_whole(std::string_view bytes);

}  // namespace proofwalk::capture
