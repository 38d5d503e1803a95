// How a verdict looks, the same in text, page and drawing: a word, a shape and a tone together, never a tone alone.
// pass: full disc; fail: full square standing on a corner; unsure: half-filled disc; open: ring; skipped: struck ring.
#pragma once

#include <array>
#include <string>
#include <string_view>

#include "verify/tally.hpp"

namespace proofwalk::report {

struct VerdictMark {
    verify::Verdict verdict;
    std::string_view glyph;  // one column on a terminal
    std::string_view ansi;   // colour code inside CSI ... m
};

// In the order in which people need them: what to act on first.
inline constexpr std::array<VerdictMark, 5> verdict_marks = {{
    {verify::Verdict::fail, "\u25c6", "1;38;5;166"},
    {verify::Verdict::unsure, "\u25d0", "38;5;172"},
    {verify::Verdict::open, "\u25cb", ""},
    {verify::Verdict::skipped, "\u2298", "2"},
    {verify::Verdict::pass, "\u25cf", "38;5;32"},
}};

[[nodiscard]] constexpr const VerdictMark& mark_of(verify::Verdict verdict) {
    for (const VerdictMark& mark : verdict_marks)
        if (mark.verdict == verdict) return mark;
    return verdict_marks[2];
}

[[nodiscard]] constexpr int count_of(const verify::Counts& counts, verify::Verdict verdict) {
    switch (verdict) {
        case verify::Verdict::pass: return counts.pass;
        case verify::Verdict::fail: return counts.fail;
        case verify::Verdict::unsure: return counts.unsure;
        case verify::Verdict::open: return counts.open;
        case verify::Verdict::skipped: return counts.skipped;
    }
    return 0;
}

}  // namespace proofwalk::report
