// The text of a plan under the knife: tables, keys and list elements found, replaced, put in and taken out, while comments,
// order and spacing of everything else stay as they are. Knows TOML's form and nothing of what a plan means.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace proofwalk::app {

enum class PlanTable { model, box, array, position };

// A place in a text, in bytes.
struct TextSpan {
    std::size_t begin = 0, end = 0;
    [[nodiscard]] std::string_view of(std::string_view text) const { return text.substr(begin, end - begin); }
};

// The value of a key in the table of that id replaced (or the key added at its end). Absent when the text has no such table.
[[nodiscard]] std::optional<std::string> with_value(std::string_view text, PlanTable table, std::string_view id, std::string_view key,
                                                    std::string_view value);
// The key and its line gone; the same text when the table has no such key.
[[nodiscard]] std::optional<std::string> without_key(std::string_view text, PlanTable table, std::string_view id, std::string_view key);
// The value as it is written; absent when there is no such table or key.
[[nodiscard]] std::optional<TextSpan> value_of(std::string_view text, PlanTable table, std::string_view id, std::string_view key);

// The table's own lines with the comment that stands right above its header.
[[nodiscard]] std::optional<TextSpan> table_span(std::string_view text, PlanTable table, std::string_view id);
[[nodiscard]] std::optional<std::string> without_table(std::string_view text, PlanTable table, std::string_view id);
// `lines` (header and keys, no blank line around) put in after the table of that id, else after the last of its kind, else at
// the end.
[[nodiscard]] std::string with_table(std::string_view text, PlanTable table, std::string_view after_id, std::string_view lines);

// The elements of a list value, each without the comma; comments between them are none.
[[nodiscard]] std::vector<TextSpan> elements_of(std::string_view text, TextSpan list);
[[nodiscard]] std::string without_element(std::string_view text, TextSpan list, std::size_t index);
[[nodiscard]] std::string with_element(std::string_view text, TextSpan list, std::string_view element);

// A word between quotes, as TOML writes it.
[[nodiscard]] std::string toml_word(std::string_view word);

}  // namespace proofwalk::app
