// What is wrong with a take as a whole, seen in what its analysis leaves over.
#pragma once

#include <complex>
#include <cstddef>
#include <span>
#include <vector>

#include "signal/fft.hpp"
#include "units/bands.hpp"
#include "units/flags.hpp"

namespace proofwalk::signal {

// Weight of each block of what a fit leaves over: 1, or the median power of the two seconds around it over its own where it
// stands 8 dB out of it (a knock, a shout). least_power: of a sample, below which nothing counts (rounding is no noise).
[[nodiscard]] std::vector<float> burst_weights(std::span<const float> left_over, std::size_t samples, std::size_t block, double least_power = 0.0);
// A burst that matters: some block at a tenth of its weight or less.
[[nodiscard]] bool has_burst(std::span<const float> weights);

// Mains hum: at least two of the first six multiples of 50 or of 60 Hz stand 12 dB out of the lines around them.
// spectrum: of a second or more of the take without its signal.
[[nodiscard]] bool has_hum(std::span<const std::complex<float>> spectrum, double bin_hz);

// The response still stands 6 dB above the noise at its end and has fallen by less than 30 dB from its loudest 20 ms.
[[nodiscard]] bool tail_is_cut(std::span<const float> impulse, double rate_hz, std::size_t noise_samples);

// The signal arrives at the reference after the mic (channels exchanged): the strongest response stands 0.5 to 350 ms
// before zero, and nothing after zero reaches half of it.
[[nodiscard]] bool looks_swapped(std::span<const float> circular, double rate_hz);

// Third-octave levels of the signal as played stray by more than 3 dB from a straight line over log frequency.
[[nodiscard]] bool reference_strays(const BandLevels& played_db, double low_hz, double high_hz);

}  // namespace proofwalk::signal
