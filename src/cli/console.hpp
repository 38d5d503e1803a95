// Where a command prints: words and JSON on standard output, faults and progress on standard error.
#pragma once

#include <cstddef>
#include <iosfwd>
#include <string>

#include "report/report.hpp"
#include "units/fault.hpp"

namespace proofwalk::cli {

class Console {
public:
    Console(std::ostream& out, std::ostream& err, report::TextStyle style, bool progress)
        : out_(out), err_(err), style_(style), progress_(progress) {}

    // Standard output and error of this process: colour and progress only on a terminal, NO_COLOR respected.
    [[nodiscard]] static Console of_process();

    [[nodiscard]] std::ostream& out() { return out_; }
    [[nodiscard]] const report::TextStyle& style() const { return style_; }

    // Each fault as one sentence; gives the exit status (3 wins over 2).
    int tell(const Fault& fault);
    int tell(const Faults& faults);
    // A line for the person that is no result: warnings, cautions, what to type next.
    void note(const std::string& text);
    // "take 3 of 14: M1": one line that is written over, only on a terminal.
    void progress(std::size_t done, std::size_t whole, const std::string& what);

private:
    std::ostream& out_;
    std::ostream& err_;
    report::TextStyle style_;
    bool progress_ = false;
    bool line_open_ = false;
    void close_line();
};

// The largest of exit statuses: 3 over 2 over 1 over 0.
inline constexpr int status_done = 0;
inline constexpr int status_not_passed = 1;  // with --strict only
inline constexpr int status_bad_input = 2;
inline constexpr int status_failed = 3;

}  // namespace proofwalk::cli
