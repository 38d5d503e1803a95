// First arrival and polarity from an impulse response.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "signal/evidence.hpp"

namespace proofwalk::signal {

struct Arrival {
    double at_s = 0.0;        // first arrival, same zero as Evidence::first_s (mic latency not taken off)
    double u_s = 0.0;
    int polarity = 0;         // sign of the first excursion; 0: cannot tell
    double polarity_confidence = 0.0;
    double peak = 0.0;        // height of the first arrival's envelope in the band it was found in
    double noise_rms = 0.0;   // of the envelope before it, same unit
    double low_hz = 0.0, high_hz = 0.0;  // the band it was found in
    bool certain = true;      // false: a peak that noise or an earlier weak sound could explain
    bool weak = false;        // read below the treble that the box should have: off axis, behind something, or a dead driver
    std::vector<Reflection> reflections;  // after the first arrival, strongest first, at most 16
};

// Nothing when no sound stands above the noise in any band of the box.
// The first arrival is the first rise that belongs to a peak of the envelope within 20 dB of the strongest one, found in
// the highest part of the box's band that carries sound, so that the group delay of its crossover and of its low end is
// not part of it.
[[nodiscard]] std::optional<Arrival> first_arrival(const Evidence& evidence, const Bands& bands);

}  // namespace proofwalk::signal
