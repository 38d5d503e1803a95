// What logs that are merged say differently.
#pragma once

#include <filesystem>
#include <vector>

#include "log/merge.hpp"

namespace proofwalk::log {

[[nodiscard]] std::vector<Conflict> conflicts_between(const std::vector<std::filesystem::path>& sources);

}  // namespace proofwalk::log
