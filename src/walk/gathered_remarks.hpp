// Notes, incidents and attachments of a log as a report shows them.
#pragma once

#include "report/report.hpp"
#include "walk/show.hpp"

namespace proofwalk::walk {

// Oldest first. Photos (JPEG, PNG) come along as pictures as long as a page stays small; the files of all are named.
[[nodiscard]] Result<std::vector<report::RemarkLine>> gathered_remarks(const Show& show);

}  // namespace proofwalk::walk
