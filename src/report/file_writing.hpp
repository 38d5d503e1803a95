// Files that are whole or not there.
#pragma once

#include <filesystem>
#include <string>

#include "units/fault.hpp"

namespace proofwalk::report {

// Makes the folder where there is none; an earlier file of the name stays until the new one is complete.
[[nodiscard]] Result<std::filesystem::path> write_whole(const std::filesystem::path& folder, const std::string& name,
                                                        const std::string& bytes);

}  // namespace proofwalk::report
