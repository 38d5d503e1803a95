// The impulse response that explains a take of noise or programme best, with bursts left out.
//
// Minimises sum over n of w(n) (y(n) - (x * h)(n))^2 over the taps of h, x and y whitened by the third-octave mean of
// |X|^2, by conjugate gradients. Against an averaged cross spectrum this has no bias from the delay or the tail of the
// room and no noise of its own from the signal's randomness. w(n) is 1, or less in 5 ms blocks that stand out of what the
// fit leaves over (a knock, a shout), found by fitting twice.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "signal/deconvolve.hpp"

namespace proofwalk::signal {

struct LeastSquaresResponse {
    std::vector<float> impulse;    // taps from first_lag on
    std::vector<float> left_over;  // y - x * h over the whole take, not whitened
    std::vector<float> weights;    // per 5 ms block, 0..1
    std::size_t block = 0;         // samples per block
    double weighted_share = 1.0;   // mean weight while the signal sounds
};

// first_lag: lag of the first tap in samples (may be negative); taps: how many.
[[nodiscard]] LeastSquaresResponse least_squares_response(const Excitation& excitation, std::span<const float> mic,
                                                          std::ptrdiff_t first_lag, std::size_t taps);

}  // namespace proofwalk::signal
