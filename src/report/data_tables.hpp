// Everything that the pages show, as plain tables.
#pragma once

#include <vector>

#include "plan/sheets.hpp"
#include "report/report.hpp"

namespace proofwalk::report {

// checks, boxes, positions, readings, curves, impulses, skips, sign-offs, history: every one, also without rows. Numbers
// with a point and all their digits, no figure: an empty cell.
[[nodiscard]] std::vector<plan::Sheet> data_tables(const Show& show);

}  // namespace proofwalk::report
