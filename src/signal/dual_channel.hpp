// Transfer function and coherence of noise or programme by averaged spectra (Bendat and Piersol, Random Data, chapter 9;
// Welch 1967). Blocks under a periodic Hann window, overlapped by half; nothing is detrended.
//   Gxy = mean of conj(X) Y;  H1 = Gxy / Gxx (no bias from noise at the mic);  H2 = Gyy / Gyx (none from noise at the
//   reference);  coherence g2 = |Gxy|^2 / (Gxx Gyy).
// A delay between the channels biases all three (a Hann block shifted by a quarter loses 3.6 dB): the mic is read that
// much later first, and the delay is put back into the phase of H1 and H2.
#pragma once

#include <complex>
#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "units/fault.hpp"

namespace proofwalk::signal {

struct DualChannelSettings {
    std::size_t block = 16384;                     // samples, even
    std::optional<std::ptrdiff_t> delay_samples;   // mic after reference; absent: found from the take
};

struct DualChannel {
    double bin_hz = 0.0;
    std::vector<std::complex<float>> h1, h2;       // one-sided, block/2 + 1 lines
    std::vector<float> coherence;                  // 0..1
    // Random error (one sigma): of |H1| relative to its value, and of its phase in rad. sqrt(1-g2)/(|g| sqrt(2 nd)).
    std::vector<float> random_error;
    std::ptrdiff_t delay_samples = 0;
    int blocks = 0;
    double effective_averages = 0.0;               // Hann, half overlapped: 36 K^2 / (38 K - 2)
};

// One result a mic; the reference is transformed once for all. Refused: fewer than two blocks (coherence would be one by
// itself), an odd block, empty or unequal channels, a silent reference.
[[nodiscard]] Result<std::vector<DualChannel>> dual_channel(std::span<const float> reference, std::span<const std::span<const float>> mics, double rate_hz,
                                                           const DualChannelSettings& settings = {});

// Delay of the mic after the reference, whole samples, by the largest peak of the phase-only cross correlation over the
// band where the reference carries power.
[[nodiscard]] std::ptrdiff_t delay_between(std::span<const float> reference, std::span<const float> mic);

[[nodiscard]] double effective_averages_of(int blocks);
[[nodiscard]] double random_error_of(double coherence, double averages);
// Coherence below this could be chance alone (95 %).
[[nodiscard]] double chance_coherence(double averages);

}  // namespace proofwalk::signal
