// The cheapest take that would settle an unsure check, by the uncertainty that it would leave.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "verify/case_file.hpp"

namespace proofwalk::verify {

struct NextTake {
    enum class Effort { longer_sweep, another_place, mic_match };  // in this order
    Effort effort = Effort::another_place;
    std::string circuit, position;  // empty for a match take
    std::string says;               // what to do, in words
    double u = 0.0;                 // standard uncertainty that it would leave
    bool settles = false;           // the figure would then pass or fail, if it stayed what it is
};

// All that would narrow the figure by a tenth at least: what settles it first, by effort; then the rest, the narrowest first.
[[nodiscard]] std::vector<NextTake> next_takes(const CaseFile& file, const CheckResult& check, const Quantity& quantity);

// The first of them as advice; empty when no take would help.
[[nodiscard]] std::string take_advice(const CaseFile& file, const CheckResult& check, const Quantity& quantity);

}  // namespace proofwalk::verify
