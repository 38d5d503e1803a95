// The records of a log gathered for the report.
#pragma once

#include <filesystem>

#include "walk/judged.hpp"

namespace proofwalk::walk {

// Without curves no impulse response is read: quick, for a screen that is refreshed after every take.
enum class Curves { with, without };
[[nodiscard]] Result<report::Show> report_show(const Show& show, Curves curves = Curves::with);
[[nodiscard]] Result<std::filesystem::path> write_report(const Show& show, const std::filesystem::path& folder,
                                                         report::Reader reader = report::Reader::engineer);
// Everything that the pages show, as JSON and CSV.
[[nodiscard]] Result<std::vector<std::filesystem::path>> write_data(const Show& show, const std::filesystem::path& folder);

}  // namespace proofwalk::walk
