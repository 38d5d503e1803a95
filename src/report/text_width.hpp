// How wide text stands on a terminal: UTF-8 counted by character, not by byte.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace proofwalk::report {

// Columns that the text takes: combining marks none, East Asian wide characters two, anything else one.
// A byte that is not UTF-8 counts as one column.
[[nodiscard]] int columns_of(std::string_view text);

enum class Align { left, right };
// Filled with blanks to the width; text that is wider comes back as it is.
[[nodiscard]] std::string padded(std::string_view text, int width, Align align = Align::left);
// Cut to the width with an ellipsis as its last column.
[[nodiscard]] std::string shortened(std::string_view text, int width);
// Lines of at most `width` columns, broken at blanks; a longer word is broken inside. At least one line.
[[nodiscard]] std::vector<std::string> wrapped(std::string_view text, int width);
// Names and notes come from files: control characters become blanks, bytes that are not UTF-8 become U+FFFD.
[[nodiscard]] std::string printable(std::string_view text);

}  // namespace proofwalk::report
