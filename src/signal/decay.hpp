// Room figures from an impulse response by ISO 3382-1:2009: information for people, never a verdict.
//
// Backward integration (Schroeder 1965) from the knee where the decay meets the noise, with the energy of the fitted
// exponential beyond the knee added (after Lundeby et al. 1995). Straight-line fits: EDT 0..-10 dB, T20 -5..-25 dB,
// T30 -5..-35 dB, each times 60 over its range. Time zero is the arrival of the direct sound.
#pragma once

#include <array>
#include <optional>
#include <span>
#include <vector>

#include "signal/evidence.hpp"

namespace proofwalk::signal {

inline constexpr std::size_t octave_count = 7;  // nominal 125 Hz .. 8 kHz
inline constexpr std::array<double, octave_count> octave_nominal_hz = {125, 250, 500, 1000, 2000, 4000, 8000};

struct Decay {
    std::optional<double> edt_s, t20_s, t30_s;        // absent when the noise stands too high (25, 35, 45 dB below the peak)
    std::optional<double> c50_db, c80_db, d50;        // d50: 0..1
    double range_db = 0.0;                            // peak of the response over its noise
};

// One band's decay from its squared response, already in the band; arrival: sample of time zero.
[[nodiscard]] Decay decay_of(std::span<const float> band_response, double rate_hz, std::size_t arrival);

// Octave bands 125 Hz .. 8 kHz of a take; bands above half the sample rate are empty.
[[nodiscard]] std::array<Decay, octave_count> octave_decays(const Evidence& evidence, double arrival_s);

// The response in one octave (zero phase, raised cosine over a twelfth of an octave around the edges).
[[nodiscard]] std::vector<float> octave_response(const Evidence& evidence, std::size_t octave);

}  // namespace proofwalk::signal
