// The inside of a large transform: a complex transform of rows * columns values as two sets of short ones, eight at a time
// in the lanes of a vector. Built twice from fft_lanes.ipp, for any processor and for those with AVX2 and FMA.
//
// With n = n1 * columns + n2 and k = k1 + rows * k2 (the four-step transform):
//   Z[k] = sum_n2 w(columns, n2 k2) * w(rows * columns, n2 k1) * sum_n1 w(rows, n1 k1) z[n],   w(N, j) = exp(-2 pi i j / N)
// The first set runs down the columns, neighbouring columns in the lanes; its results are turned, written row by row and
// transformed again, so that all reads and writes are whole vectors.
#pragma once

#include <cstddef>

namespace proofwalk::signal::lanes {

inline constexpr std::size_t width = 8;
inline constexpr std::size_t most_stages = 16;

// A short transform: radices 4, 2, 3, 5 and the factors between its stages (Stockham, self-sorting).
struct ShortPlan {
    std::size_t length = 0;
    std::size_t stages = 0;
    std::size_t radix[most_stages] = {};
    const float* factors[most_stages] = {};  // per stage: for each k of length/(radix * stride): (radix - 1) pairs re, im
};

struct Plan {
    std::size_t rows = 0, columns = 0;  // both multiples of width
    ShortPlan down, across;             // lengths rows and columns
    // w(rows * columns, n2 k1): per block of eight columns, per k1, eight real parts then eight imaginary parts.
    const float* turns = nullptr;
};

// What the inner file offers, once for any processor and once for those with AVX2 and FMA.
struct Functions {
    // real, imaginary: rows * columns values with the given distance (1: split arrays, 2: interleaved pairs).
    // out_*: split. turned_*: split scratch of the same size. short_scratch: 6 * width * max(rows, columns) floats, 32-byte aligned.
    void (*transform)(const Plan& plan, const float* real, const float* imaginary, std::size_t distance, float* out_real, float* out_imaginary,
                      float* turned_real, float* turned_imaginary, float* short_scratch);

    // Real transform from the complex one of half its size: one-sided spectrum (interleaved pairs, half + 1 of them) from
    // Z (split, half values), and back. factors: exp(-2 pi i k / (2 half)) for k = 0 .. half/2, real parts then imaginary
    // parts in two runs of half/2 + 1.
    void (*split)(std::size_t half, const float* factors, const float* z_real, const float* z_imaginary, float* spectrum);
    void (*join)(std::size_t half, const float* factors, const float* spectrum, float scale, float* z_real, float* z_imaginary);
    // One-sided spectrum to the two transforms of half its size that give the even and the odd values of the analytic signal.
    void (*spread)(std::size_t half, const float* factors, const float* spectrum, float scale, float* even_real, float* even_imaginary,
                   float* odd_real, float* odd_imaginary);
    // out[2 n] = even[n], out[2 n + 1] = odd[n]
    void (*interleave)(std::size_t half, const float* even, const float* odd, float* out);

    // Loops around the transforms. out[n] = a[n] * b[n]; gxx += |x|^2, gyy += |y|^2, gxy += conj(x) y over interleaved pairs.
    void (*multiply)(std::size_t count, const float* a, const float* b, float* out);
    void (*accumulate)(std::size_t count, const float* x, const float* y, float* gxx, float* gyy, float* gxy);
};
extern const Functions portable, wide;
// `wide` where the processor has AVX2 and FMA.
[[nodiscard]] const Functions& chosen();

}  // namespace proofwalk::signal::lanes
