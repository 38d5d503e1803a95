// Speech transmission index by the indirect method of IEC 60268-16 (male spectrum weights), from an impulse response:
// information, never a verdict. Without noise it is an upper bound, and only for chains without compressors or limiters.
#pragma once

#include <array>
#include <optional>

#include "signal/decay.hpp"
#include "signal/evidence.hpp"

namespace proofwalk::signal {

inline constexpr std::array<double, 14> modulation_hz = {0.63, 0.8, 1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8, 10, 12.5};
using Modulation = std::array<std::array<double, modulation_hz.size()>, octave_count>;  // m, 0..1, per octave and frequency

// Index from modulation transfer values: m -> effective signal-to-noise +-15 dB -> weights and redundancy, clamped to 0..1.
[[nodiscard]] double speech_transmission_index(const Modulation& modulation);

// Modulation values of a take: Schroeder 1981 from the squared octave responses, times the loss that the octave's
// signal-to-noise ratio brings (absent: no noise).
[[nodiscard]] Modulation modulation_of(const Evidence& evidence, double arrival_s, const std::array<std::optional<double>, octave_count>& signal_to_noise_db);

// Level-dependent auditory masking of the next octave up, dB (from the level of the octave below it).
[[nodiscard]] double auditory_masking_db(double level_db);

}  // namespace proofwalk::signal
