// Distortion from an exponential sweep (Farina 2000): after deconvolution the n-th harmonic's response stands L ln n
// before the linear one, L = length / ln(stop/start), with the spectrum of the harmonic at the harmonic's own frequency.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "signal/deconvolve.hpp"

namespace proofwalk::signal {

struct Distortion {
    std::vector<double> hz;                 // of the fundamental, third-octave midbands
    std::vector<double> second_pct, third_pct, total_pct;  // NaN where the harmonic lies outside the sweep or is not above the floor
    std::vector<double> floor_pct;          // what noise alone would show as the second harmonic
    std::optional<double> second_in_band_pct, third_in_band_pct;  // over the band asked for
};

// The sweep's L in seconds, found from when the reference passes its frequencies; nothing when it is no exponential sweep.
[[nodiscard]] std::optional<double> sweep_time_constant_s(const Excitation& excitation);

// circular: deconvolved response of the whole take, lags modulo its size; arrival_s: lag of the direct sound;
// low_hz, high_hz: fundamentals of the two figures over a band.
[[nodiscard]] Distortion distortion_of(std::span<const float> circular, double rate_hz, double time_constant_s, double arrival_s, double low_hz, double high_hz,
                                       double sweep_low_hz, double sweep_high_hz);

}  // namespace proofwalk::signal
