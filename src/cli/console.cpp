#include "cli/console.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <cstdlib>
#include <iostream>

namespace proofwalk::cli {

Console Console::of_process() {
    report::TextStyle style;
    const char* no_colour = std::getenv("NO_COLOR");
    style.colour = isatty(STDOUT_FILENO) != 0 && (no_colour == nullptr || *no_colour == '\0');
    return {std::cout, std::cerr, style, isatty(STDERR_FILENO) != 0};
}

void Console::close_line() {
    if (line_open_) err_ << "\r\033[K" << std::flush;
    line_open_ = false;
}

int Console::tell(const Fault& fault) {
    close_line();
    err_ << "proofwalk: " << sentence(fault) << '\n';
    return exit_status(fault);
}

int Console::tell(const Faults& faults) {
    int status = status_done;
    for (const Fault& fault : faults) status = std::max(status, tell(fault));
    return status;
}

void Console::note(const std::string& text) {
    close_line();
    err_ << text << '\n';
}

void Console::progress(std::size_t done, std::size_t whole, const std::string& what) {
    if (!progress_) return;
    err_ << "\r\033[K" << fmt::format("{} of {}: {}", done, whole, what) << std::flush;
    line_open_ = true;
    if (done == whole) close_line();
}

}  // namespace proofwalk::cli
