// Reading a plan: every fault in one run, with line, reason and the nearest known key.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "plan/plan.hpp"
#include "units/fault.hpp"

namespace proofwalk::plan {

struct PlanFile {
    Plan plan;
    std::string bytes;   // exactly as read
    std::string sha256;
    std::vector<std::string> warnings;  // e.g. a position outside every area
};

// `file` is the name for faults; directivity files are looked up relative to `folder`.
[[nodiscard]] Checked<PlanFile> read(std::string_view bytes, std::string_view file, const std::filesystem::path& folder);
[[nodiscard]] Checked<PlanFile> load(const std::filesystem::path& file);
// A venue: the same format, with areas; models and boxes may be missing.
[[nodiscard]] Checked<PlanFile> load_venue(const std::filesystem::path& file);

}  // namespace proofwalk::plan
