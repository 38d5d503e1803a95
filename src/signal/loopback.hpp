// What a loopback take (an output wired to an input, no air between) says about the measuring chain itself.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "signal/evidence.hpp"

namespace proofwalk::signal {

struct ChainFigures {
    // Of the response from reference to input over the working range; level and slope of phase taken out.
    double flatness_db = 0.0;   // largest deviation of a third octave from their median, absolute
    double flatness_deg = 0.0;  // largest deviation from the straight phase line
    Measured latency_s;         // reference to input
    double gain_db = 0.0;       // median level of the third octaves
    int polarity = 1;
    double signal_to_noise_db = 0.0;  // whole band
    std::optional<double> distortion2_pct, distortion3_pct;
    Flags flags;
};

// Nothing when the chain carries no signal. working range: usually 20 Hz .. 20 kHz cut to what the signal covers.
[[nodiscard]] std::optional<ChainFigures> chain_figures(const Evidence& evidence, double low_hz, double high_hz);

// Spread of the latency over repeated loopback takes of one input (start to start): mean, standard deviation of one take,
// largest difference. Nothing for fewer than two.
struct LatencySpread {
    double mean_s = 0.0, deviation_s = 0.0, range_s = 0.0;
    int takes = 0;
};
[[nodiscard]] std::optional<LatencySpread> latency_spread(std::span<const ChainFigures> takes);

}  // namespace proofwalk::signal
