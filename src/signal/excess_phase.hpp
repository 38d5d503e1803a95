// Delay and polarity of a short piece of sound from its phase, with the part of the phase that its own magnitude
// explains (minimum phase) taken out.
//
// What is left of a loudspeaker's phase at a frequency f well above its crossover is
//     phi(f) = constant - 2 pi f delay + a / f,
// the last term being the high end of the crossover's all-pass: a second-order one (fourth-order Linkwitz-Riley halves)
// has a = 2 sqrt(2) times the crossover frequency. The constant is 0 for a normal and pi for an inverted box. All three
// are fitted at once; the first excursion has the sign of the constant.
#pragma once

#include <optional>
#include <span>

namespace proofwalk::signal {

struct ExcessPhase {
    double delay_s = 0.0;         // of the sound after the first sample given
    double delay_u_s = 0.0;       // from the fit alone
    double constant_rad = 0.0;    // fitted freely, -pi..pi
    double constant_u_rad = 0.0;
    int polarity = 0;             // +1 or -1: where the constant lies nearer to
    double rms_rad = 0.0;         // what the fit leaves over
};

struct PhaseBand {
    double low_hz = 0.0, high_hz = 0.0;  // where the phase is trusted
    double noise_share = 0.0;            // noise power over sound power in it
};

// direct: gated samples; near_s: about where the sound begins in them (within half a period of the band's middle).
[[nodiscard]] std::optional<ExcessPhase> fit_excess_phase(std::span<const float> direct, double rate_hz, double near_s, const PhaseBand& band);

}  // namespace proofwalk::signal
