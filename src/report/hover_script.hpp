// The one script of the pages: a cursor on curves that reads values off the drawn lines. Without it the picture is whole.
#pragma once

#include <string>
#include <string_view>

namespace proofwalk::report {

[[nodiscard]] std::string_view hover_script();
// As a content security policy names it: "sha256-...".
[[nodiscard]] std::string hover_script_hash();

}  // namespace proofwalk::report
