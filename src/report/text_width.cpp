#include "report/text_width.hpp"

#include <algorithm>
#include <array>
#include <cstddef>

namespace proofwalk::report {
namespace {

struct Character {
    char32_t code = 0;
    std::size_t bytes = 1;
    bool valid = false;
};

Character first_character(std::string_view text) {
    const auto lead = static_cast<unsigned char>(text.front());
    if (lead < 0x80) return {lead, 1, true};
    std::size_t bytes = 0;
    char32_t code = 0;
    if (lead >= 0xc2 && lead < 0xe0) {
        bytes = 2;
        code = lead & 0x1fu;
    } else if (lead >= 0xe0 && lead < 0xf0) {
        bytes = 3;
        code = lead & 0x0fu;
    } else if (lead >= 0xf0 && lead < 0xf5) {
        bytes = 4;
        code = lead & 0x07u;
    }
    if (bytes == 0 || text.size() < bytes) return {};
    for (std::size_t i = 1; i < bytes; ++i) {
        const auto next = static_cast<unsigned char>(text[i]);
        if ((next & 0xc0u) != 0x80u) return {};
        code = (code << 6) | (next & 0x3fu);
    }
    const bool overlong = (bytes == 3 && code < 0x800) || (bytes == 4 && code < 0x10000);
    const bool surrogate = code >= 0xd800 && code <= 0xdfff;
    if (overlong || surrogate || code > 0x10ffff) return {};
    return {code, bytes, true};
}

struct Range {
    char32_t first, last;
};

// Unicode 15, the blocks that people's names and notes are made of (from memory).
constexpr std::array<Range, 8> no_width = {{{0x0300, 0x036f}, {0x0483, 0x0489}, {0x0591, 0x05bd}, {0x064b, 0x065f},
                                            {0x200b, 0x200f}, {0x20d0, 0x20ff}, {0xfe00, 0xfe0f}, {0xfe20, 0xfe2f}}};
constexpr std::array<Range, 9> double_width = {{{0x1100, 0x115f}, {0x2e80, 0x303e}, {0x3041, 0xa4cf},
                                                {0xac00, 0xd7a3}, {0xf900, 0xfaff}, {0xfe30, 0xfe6f},
                                                {0xff00, 0xff60}, {0x1f300, 0x1faff}, {0x20000, 0x3fffd}}};

bool inside(const auto& ranges, char32_t code) {
    return std::ranges::any_of(ranges, [&](const Range& range) { return code >= range.first && code <= range.last; });
}

int width_of(const Character& character) {
    if (!character.valid) return 1;
    if (inside(no_width, character.code)) return 0;
    return inside(double_width, character.code) ? 2 : 1;
}

// Bytes at the front that fit into the width (at least one character).
std::size_t bytes_within(std::string_view text, int width) {
    std::size_t bytes = 0;
    int used = 0;
    while (bytes < text.size()) {
        const Character character = first_character(text.substr(bytes));
        used += width_of(character);
        if (used > width && bytes > 0) break;
        bytes += character.bytes;
    }
    return bytes;
}

}  // namespace

int columns_of(std::string_view text) {
    int columns = 0;
    while (!text.empty()) {
        const Character character = first_character(text);
        columns += width_of(character);
        text.remove_prefix(character.bytes);
    }
    return columns;
}

std::string padded(std::string_view text, int width, Align align) {
    const int missing = std::max(0, width - columns_of(text));
    const std::string blanks(static_cast<std::size_t>(missing), ' ');
    return align == Align::left ? std::string(text) + blanks : blanks + std::string(text);
}

std::string shortened(std::string_view text, int width) {
    if (columns_of(text) <= width) return std::string(text);
    return std::string(text.substr(0, bytes_within(text, width - 1))) + "\u2026";
}

std::vector<std::string> wrapped(std::string_view text, int width) {
    std::vector<std::string> lines(1);
    while (!text.empty()) {
        const std::size_t end = std::min(text.find(' '), text.size());
        std::string_view word = text.substr(0, end);
        text.remove_prefix(std::min(end + 1, text.size()));
        if (word.empty()) continue;
        if (!lines.back().empty()) {
            if (columns_of(lines.back()) + 1 + columns_of(word) <= width) {
                lines.back() += ' ';
                lines.back() += word;
                continue;
            }
            lines.emplace_back();
        }
        while (columns_of(word) > width) {
            const std::size_t bytes = bytes_within(word, width);
            lines.back() = word.substr(0, bytes);
            lines.emplace_back();
            word.remove_prefix(bytes);
        }
        lines.back() = word;
    }
    return lines;
}

std::string printable(std::string_view text) {
    std::string result;
    result.reserve(text.size());
    while (!text.empty()) {
        const Character character = first_character(text);
        if (!character.valid)
            result += "\ufffd";
        else if (character.code < 0x20 || (character.code >= 0x7f && character.code < 0xa0))
            result += ' ';
        else
            result += text.substr(0, character.bytes);
        text.remove_prefix(character.bytes);
    }
    return result;
}

}  // namespace proofwalk::report
