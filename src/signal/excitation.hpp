// Test signals. All are mono, floats in -1..1; level is dB re a full-scale sine (0 dBFS = amplitude 1.0 sine).
#pragma once

#include <vector>

#include "units/fault.hpp"

namespace proofwalk::signal {

struct SweepSettings {
    double rate_hz = 48000.0;
    double start_hz = 20.0;
    double stop_hz = 20000.0;
    double length_s = 4.0;
    double level_dbfs = -20.0;
    double fade_in_s = 0.02;
    double fade_out_s = 0.005;
};

// Exponential sine sweep (Farina 2000, AES preprint 5093): x(t) = sin(2 pi f1 L (e^(t/L) - 1)), L = T / ln(f2/f1).
[[nodiscard]] Result<std::vector<float>> exponential_sweep(const SweepSettings& settings);

struct NoiseSettings {
    double rate_hz = 48000.0;
    double low_hz = 20.0;
    double high_hz = 20000.0;
    double period_s = 1.0;   // the exact period
    double length_s = 8.0;   // a whole number of periods is played
    double level_dbfs = -20.0;
    unsigned seed = 1;
};

// Periodic pink noise of constant magnitude -3 dB an octave and random phase; every period is the same to the bit.
[[nodiscard]] Result<std::vector<float>> periodic_pink_noise(const NoiseSettings& settings);

}  // namespace proofwalk::signal
