// Third-octave bands (IEC 61260-1:2014, base ten) by summing spectrum lines between the exact band edges; a line that
// an edge cuts counts by its share.
#pragma once

#include <complex>
#include <span>

#include "units/bands.hpp"

namespace proofwalk::signal {

// Mean of |H|^2 in each band with every fraction of an octave counting alike (as pink noise would weigh it), in dB.
// bin_hz: distance of the lines. Bands that reach above half the sample rate are absent.
[[nodiscard]] BandLevels mean_levels(std::span<const std::complex<float>> spectrum, double bin_hz);
[[nodiscard]] BandLevels mean_levels(std::span<const double> power, double bin_hz);

// Mean of one band only, linear power; NaN when the band is absent.
[[nodiscard]] double mean_power(std::span<const std::complex<float>> spectrum, double bin_hz, double low_hz, double high_hz);

// Sum of a power spectrum in each band, in dB; power[k]: mean square per line.
[[nodiscard]] BandLevels sum_levels(std::span<const double> power, double bin_hz);

}  // namespace proofwalk::signal
