// The teaching text of docs/glossary.md, which is built into the program.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace proofwalk::report {

struct GlossaryPart {
    std::string name;  // "What", "Why", "Goes wrong", ...
    std::string text;  // one paragraph, without marks
};
struct GlossaryEntry {
    std::vector<std::string> words;  // the checks that the entry is about
    std::vector<GlossaryPart> parts;
};

[[nodiscard]] const std::vector<GlossaryEntry>& glossary();
// The entry of a check ("aim-h"); nothing when the glossary has none.
[[nodiscard]] const GlossaryEntry* glossary_entry(std::string_view word);

// Entries of glossary text as docs/glossary.md is written: "## word, word", then parts that begin with "**Name**:".
[[nodiscard]] std::vector<GlossaryEntry> glossary_of(std::string_view text);

}  // namespace proofwalk::report
