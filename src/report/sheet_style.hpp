// The style sheet of pages and drawings, written once.
#pragma once

#include <string>

namespace proofwalk::report {

// Of drawings alone, for SVG files that stand by themselves (day paper).
[[nodiscard]] std::string drawing_style();

struct RunningText {  // at the foot of every printed page
    std::string left, middle;
};
// Of a whole page: three papers, phone and desk widths, A4 and Letter.
[[nodiscard]] std::string page_style(const RunningText& running);

}  // namespace proofwalk::report
