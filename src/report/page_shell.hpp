// What every page of ours has around its sheets: style, marks, a policy that lets nothing in from outside.
#pragma once

#include <string>

#include "report/sheet_style.hpp"

namespace proofwalk::report {

struct PageShell {
    std::string title;      // plain text
    std::string tool;       // "proofwalk 0.1.0"
    RunningText running;    // at the foot of printed pages
    std::string first_anchor;  // where the skip link leads
    bool hover = false;     // curves answer to pointer and keys; the page reads the same without
};
[[nodiscard]] std::string page_html(const PageShell& shell, const std::string& main);

}  // namespace proofwalk::report
