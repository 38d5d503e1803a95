// Discrete Fourier transform of real samples, one-sided.
//   forward: X[k] = sum_n x[n] exp(-2 pi i k n / N), k = 0 .. N/2: not scaled.
//   inverse: x[n] = (1/N) sum_k ...: inverse(forward(x)) = x.
// Float: error below 3e-7 of the largest value, checked against a direct sum and scipy in every size class. Sizes from 4096
// that are 64 times a product of two lengths run in vector lanes (fft_lanes.hpp), with AVX2 where the processor has it,
// all others in KissFFT. One object may be used by several threads at once.
#pragma once

#include <complex>
#include <cstddef>
#include <memory>
#include <span>
#include <vector>

namespace proofwalk::signal {

using Spectrum = std::vector<std::complex<float>>;

class RealFft {
public:
    // size even, at least 2.
    explicit RealFft(std::size_t size);
    RealFft(RealFft&&) noexcept;
    RealFft& operator=(RealFft&&) noexcept;
    ~RealFft();

    [[nodiscard]] std::size_t size() const { return size_; }
    [[nodiscard]] std::size_t bins() const { return size_ / 2 + 1; }

    // time: at most size() samples, the rest counts as zeros. spectrum: bins() values.
    void forward(std::span<const float> time, std::span<std::complex<float>> spectrum) const;
    [[nodiscard]] Spectrum forward(std::span<const float> time) const;
    // spectrum: bins() values; time: size() samples.
    void inverse(std::span<const std::complex<float>> spectrum, std::span<float> time) const;
    [[nodiscard]] std::vector<float> inverse(std::span<const std::complex<float>> spectrum) const;
    // The inverse and its Hilbert transform, whose root of squares is the envelope, in one: real = inverse(spectrum);
    // imaginary has every line turned back by 90 degrees. size() samples each.
    void analytic(std::span<const std::complex<float>> spectrum, std::span<float> real, std::span<float> imaginary) const;

private:
    struct Plans;
    std::size_t size_;
    std::shared_ptr<const Plans> plans_;
};

// The smallest even size of the form 2^a 3^b 5^c that is at least `least`.
[[nodiscard]] std::size_t fast_size(std::size_t least);

}  // namespace proofwalk::signal
