// Several circuits measured with sweeps that overlap in time: multiple exponential sweep method (Majdak, Balazs and
// Laback, JAES 55, 623, 2007). After deconvolution the response of each circuit stands at its own start, and its harmonic
// of order n earlier by L ln n, L = length / ln(stop/start). The starts are spaced so that no harmonic up to the kept
// order falls into a linear response.
#pragma once

#include <vector>

#include "units/fault.hpp"

namespace proofwalk::signal {

struct OverlapSettings {
    int circuits = 2;
    double length_s = 4.0;            // of one sweep
    double start_hz = 20.0, stop_hz = 20000.0;
    double decay_s = 1.0;             // how long a linear response must stay free
    double harmonic_decay_s = 0.5;    // how long a harmonic's response matters
    int harmonics = 3;                // highest order kept apart, 1: none
    double arrival_spread_s = 0.0;    // latest less earliest arrival over all mics, and what the clocks are unsure of
};

struct OverlapSchedule {
    std::vector<double> starts_s;     // ascending, the first at 0
    double total_s = 0.0;             // to the end of the last response
    double one_after_another_s = 0.0; // what separate takes with the same decay would last
};

// Each start is the earliest one that keeps all harmonics out of all linear responses, between them too where the gap
// below the second harmonic is longer than a response. Refused with a reason: fewer than one circuit, no band, a decay
// that is not positive, more than 64 circuits, a total beyond ten minutes.
[[nodiscard]] Result<OverlapSchedule> overlapped_starts(const OverlapSettings& settings);

// Lead of the n-th harmonic's response before the linear one, seconds.
[[nodiscard]] double harmonic_lead_s(double length_s, double start_hz, double stop_hz, int order);

}  // namespace proofwalk::signal
