// Sheets for the crew (rigging, mics, patch) as one printable page.
#pragma once

#include <string>
#include <vector>

#include "plan/sheets.hpp"

namespace proofwalk::report {

struct PaperHead {
    std::string plan_name, plan_sha256, tool, made;
};
// One sheet of paper a table, each with its notes, a title block and a column to tick.
[[nodiscard]] std::string paper_html(const PaperHead& head, const std::vector<plan::Sheet>& sheets);

}  // namespace proofwalk::report
