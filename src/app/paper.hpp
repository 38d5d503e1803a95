// The three papers that a sheet can lie on. Colour only says state or tells curves apart; shapes and words say the rest.
#pragma once

#include <array>
#include <optional>
#include <string_view>

#include "app/shapes.hpp"
#include "verify/judge.hpp"

namespace proofwalk::app {

enum class PaperKind { hall, day, print };

struct Paper {
    PaperKind kind = PaperKind::hall;
    Colour ground = 0;     // of the sheet
    Colour ink = 0;        // text and main lines
    Colour faint = 0;      // captions, steps that are done
    Colour hairline = 0;   // rules and frames
    Colour selected = 0;   // ground of what is selected
    Colour field = 0;      // ground of a text field
    Colour veil = 0;       // over the sheet while a slip lies on it
    Colour pass = 0, fail = 0, unsure = 0, open = 0, skipped = 0;
    // Okabe and Ito's set (2008; hex from memory), in the order in which it reads on this ground.
    std::array<Colour, 8> curves{};

    [[nodiscard]] Colour tone(verify::Verdict verdict) const;
};

[[nodiscard]] const Paper& paper(PaperKind kind);
[[nodiscard]] PaperKind next_paper(PaperKind kind);
[[nodiscard]] std::string_view word(PaperKind kind);
[[nodiscard]] std::optional<PaperKind> paper_from_word(std::string_view word);

// WCAG 2.1 contrast ratio of two opaque colours, 1..21, and relative luminance 0..1.
[[nodiscard]] double contrast(Colour a, Colour b);
[[nodiscard]] double luminance(Colour colour);

}  // namespace proofwalk::app
