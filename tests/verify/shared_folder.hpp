#pragma once

#include <filesystem>

namespace proofwalk::verify {

inline std::filesystem::path shared_folder() { return std::filesystem::path(PROOFWALK_SOURCE_DIR) / ".." / "shared"; }

}  // namespace proofwalk::verify
