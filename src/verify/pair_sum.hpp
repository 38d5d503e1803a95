// Two boxes sounding together at their crossover: the sum that each of them alone predicts, beside the sum that was taken.
// It tells what arrivals and levels of one at a time can't: a polarity that two readings got wrong together, an all-pass.
#pragma once

#include <optional>
#include <vector>

#include "verify/judge.hpp"

namespace proofwalk::verify {

struct SumBand {
    std::size_t band = 0;
    double predicted_db = 0.0, measured_db = 0.0;
    double alone_db = 0.0;  // the louder of the two, alone
};

struct PairSum {
    std::vector<SumBand> bands;
    double off_db = 0.0;     // root mean square of measured less predicted
    double turned_db = 0.0;  // the same if one of the two had the other polarity
    // Half of the difference between them is more than both are known to.
    [[nodiscard]] bool other_polarity() const { return off_db > turned_db + 3.0; }
    [[nodiscard]] bool as_predicted() const { return off_db < 2.0; }
};

// Direct levels add as two impulses that are `second.arrival - first.arrival` apart, averaged over each third octave, with the
// polarities that were read. Bands that the gate of any of the three resolves; nothing with fewer than three of them, or when
// the second arrives outside the gate of the first. Boxes of unlike models add by their phases, which this does not know.
[[nodiscard]] std::optional<PairSum> pair_sum(const signal::Reading& first, const signal::Reading& second, const signal::Reading& both);

}  // namespace proofwalk::verify
