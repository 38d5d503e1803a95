// What a command line that can't be followed is answered with.
#pragma once

#include <CLI/CLI.hpp>

#include "units/fault.hpp"

namespace proofwalk::cli {

// Names the word that the chosen command does not know and the nearest one that it does; any other error in the parser's
// words.
[[nodiscard]] Fault usage_fault(const CLI::App& app, const CLI::ParseError& error);

}  // namespace proofwalk::cli
