#include "report/glossary.hpp"

#include <algorithm>

#include "report/glossary_text.hpp"

namespace proofwalk::report {
namespace {

std::string trimmed(std::string_view text) {
    const std::size_t from = text.find_first_not_of(" \n");
    if (from == std::string_view::npos) return {};
    return std::string(text.substr(from, text.find_last_not_of(" \n") + 1 - from));
}

// Lines joined, code marks taken off.
std::string plain(std::string_view text) {
    std::string out = trimmed(text);
    std::ranges::replace(out, '\n', ' ');
    std::erase_if(out, [](char c) { return c == '`' || c == '*'; });
    return out;
}

std::vector<std::string> words_of(std::string_view heading) {
    std::vector<std::string> words;
    while (!heading.empty()) {
        const std::size_t comma = std::min(heading.find(','), heading.size());
        words.push_back(trimmed(heading.substr(0, comma)));
        heading.remove_prefix(std::min(comma + 1, heading.size()));
    }
    return words;
}

std::vector<GlossaryPart> parts_of(std::string_view body) {
    constexpr std::string_view ends = "**:";
    std::vector<GlossaryPart> parts;
    std::size_t at = body.find("**");
    while (at != std::string_view::npos) {
        const std::size_t name_end = body.find(ends, at + 2);
        if (name_end == std::string_view::npos) break;
        // The next part begins where the next "**Name**:" does; other bold words belong to the text.
        std::size_t next = body.find("**", name_end + ends.size());
        while (next != std::string_view::npos) {
            const std::size_t close = body.find("**", next + 2);
            if (close == std::string_view::npos || body.substr(close, ends.size()) == ends) break;
            next = body.find("**", close + 2);
        }
        const std::size_t from = name_end + ends.size();
        parts.push_back({plain(body.substr(at + 2, name_end - at - 2)),
                         plain(body.substr(from, next == std::string_view::npos ? std::string_view::npos : next - from))});
        at = next;
    }
    return parts;
}

}  // namespace

std::vector<GlossaryEntry> glossary_of(std::string_view text) {
    constexpr std::string_view mark = "\n## ";
    std::vector<GlossaryEntry> entries;
    std::size_t at = text.find(mark);
    while (at != std::string_view::npos) {
        const std::size_t heading = at + mark.size(), end = std::min(text.find('\n', heading), text.size());
        at = text.find(mark, end);
        entries.push_back({words_of(text.substr(heading, end - heading)), parts_of(text.substr(end, std::min(at, text.size()) - end))});
    }
    return entries;
}

const std::vector<GlossaryEntry>& glossary() {
    static const std::vector<GlossaryEntry> entries = glossary_of(glossary_text);
    return entries;
}

const GlossaryEntry* glossary_entry(std::string_view word) {
    const auto found = std::ranges::find_if(glossary(), [&](const GlossaryEntry& entry) {
        return std::ranges::find(entry.words, word) != entry.words.end();
    });
    return found == glossary().end() ? nullptr : &*found;
}

}  // namespace proofwalk::report
