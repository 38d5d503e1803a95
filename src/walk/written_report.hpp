// The records of a log gathered for the report.
#pragma once

#include <filesystem>

#include "walk/judged.hpp"

namespace proofwalk::walk {

[[nodiscard]] Result<report::Show> report_show(const Show& show);
[[nodiscard]] Result<std::filesystem::path> write_report(const Show& show, const std::filesystem::path& folder);

}  // namespace proofwalk::walk
