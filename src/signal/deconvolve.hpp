// The response from reference to mic, by spectral division over the whole take and by least squares for noise.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "signal/fft.hpp"
#include "units/bands.hpp"

namespace proofwalk::signal {

// What was played, ready to divide by.
class Excitation {
public:
    // reference: the whole channel; fft_size: long enough that nothing wraps (reference and mic both fit with room).
    Excitation(std::span<const float> reference, double rate_hz, std::size_t fft_size);

    [[nodiscard]] const RealFft& fft() const { return fft_; }
    [[nodiscard]] const Spectrum& spectrum() const { return spectrum_; }
    [[nodiscard]] double rate_hz() const { return rate_hz_; }
    // The band that the signal covers and how long it sounds.
    [[nodiscard]] double low_hz() const { return low_hz_; }
    [[nodiscard]] double high_hz() const { return high_hz_; }
    [[nodiscard]] double begins_s() const { return begins_s_; }
    [[nodiscard]] double ends_s() const { return ends_s_; }
    // Third-octave level while it sounds, dB re full-scale sine.
    [[nodiscard]] const BandLevels& played_db() const { return played_db_; }

    // 1/sqrt of the third-octave mean of |X|^2 inside the covered band, zero outside.
    [[nodiscard]] const std::vector<float>& whitening() const { return whitening_; }

    // Regularised inverse: H = Y conj(X) / (|X|^2 + r(f)), with r(f) = 1e-6 of the third-octave mean of |X|^2 at f, times
    // a window that falls from 1 to 0 over a sixth of an octave outside the covered band (half a cosine over log
    // frequency), where r also grows to the edge's own |X|^2 so that noise is not raised there. Inside the band the bias of a steady signal is below 0.0001 dB.
    [[nodiscard]] Spectrum divide(std::span<const std::complex<float>> mic) const;

private:
    RealFft fft_;
    double rate_hz_;
    Spectrum spectrum_;
    Spectrum inverse_;
    std::vector<float> whitening_;
    double low_hz_ = 0.0, high_hz_ = 0.0, begins_s_ = 0.0, ends_s_ = 0.0;
    BandLevels played_db_;
};

}  // namespace proofwalk::signal
