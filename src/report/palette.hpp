// Tones of the sheet on its papers. Curve and verdict tones are from the colour-blind-safe set of Okabe and Ito (2008;
// hex values from memory). Text tones keep 4.5:1 and drawing tones 3:1 against their paper (WCAG 2.2, 1.4.3 and 1.4.11).
#pragma once

#include <array>
#include <string_view>

namespace proofwalk::report {

enum class ToneUse { paper, text, line, fill };

struct Tone {
    std::string_view name;
    std::string_view day;   // white paper, near-black ink; also for print
    std::string_view hall;  // deep neutral ground, pale ink
    ToneUse use;
};

inline constexpr std::array<Tone, 11> tones = {{
    {"paper", "#ffffff", "#17191b", ToneUse::paper},
    {"wash", "#f4f3ef", "#202327", ToneUse::paper},  // under table heads and title blocks
    {"ink", "#141414", "#e9e4d8", ToneUse::text},
    {"soft", "#4d4d4d", "#b9b3a6", ToneUse::text},
    {"line", "#767676", "#807b72", ToneUse::line},
    {"rule", "#d4d2cc", "#34373b", ToneUse::fill},   // grids and light rules: never the only carrier of a meaning
    {"pass", "#0072b2", "#56b4e9", ToneUse::line},
    {"fail", "#c24e00", "#e8833a", ToneUse::line},
    {"unsure", "#e69f00", "#e69f00", ToneUse::fill},  // the half of a mark whose outline is ink
    {"measured", "#0072b2", "#56b4e9", ToneUse::text},
    {"gate", "#e3eef5", "#22313a", ToneUse::fill},
}};

}  // namespace proofwalk::report
