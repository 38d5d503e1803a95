// The line that says a take is durable, and the progress beside it.
#pragma once

#include <fmt/format.h>

#include <ostream>

#include "cli/console.hpp"
#include "walk/ingest.hpp"

namespace proofwalk::cli {

inline walk::Logged print_logged(Console& console) {
    return [&console](const walk::StoredTake& take, std::size_t done, std::size_t whole) {
        console.progress(done, whole, take.label);
        console.out() << fmt::format("logged {} {}{}\n", take.label, take.sha256, take.already_there ? " (already there)" : "")
                      << std::flush;
    };
}

// "31 pass, 2 fail, ..." and what to type next.
[[nodiscard]] inline std::string counts_line(const verify::Counts& counts) {
    return fmt::format("{} pass, {} fail, {} unsure, {} open, {} skipped", counts.pass, counts.fail, counts.unsure, counts.open,
                       counts.skipped);
}

}  // namespace proofwalk::cli
