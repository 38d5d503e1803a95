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

// real, imaginary: rows * columns values with the given distance (1: split arrays, 2: interleaved pairs).
// out_*: split. turned_*: split scratch of the same size. short_scratch: 6 * width * max(rows, columns) floats, 32-byte aligned.
using Transform = void (*)(const Plan& plan, const float* real, const float* imaginary, std::size_t distance, float* out_real, float* out_imaginary,
                           float* turned_real, float* turned_imaginary, float* short_scratch);

void transform_portable(const Plan&, const float*, const float*, std::size_t, float*, float*, float*, float*, float*);
void transform_wide(const Plan&, const float*, const float*, std::size_t, float*, float*, float*, float*, float*);

// Real transform from the complex one of half its size: one-sided spectrum (interleaved pairs, half + 1 of them) from
// Z (split, half values), and back. factors: exp(-2 pi i k / (2 half)) for k = 0 .. half/2, real parts then imaginary parts
// in two runs of half/2 + 1.
using Split = void (*)(std::size_t half, const float* factors, const float* z_real, const float* z_imaginary, float* spectrum);
using Join = void (*)(std::size_t half, const float* factors, const float* spectrum, float scale, float* z_real, float* z_imaginary);
void split_portable(std::size_t, const float*, const float*, const float*, float*);
void split_wide(std::size_t, const float*, const float*, const float*, float*);
void join_portable(std::size_t, const float*, const float*, float, float*, float*);
void join_wide(std::size_t, const float*, const float*, float, float*, float*);

// Loops around the transforms. out[n] = a[n] * b[n]; gxx += |x|^2, gyy += |y|^2, gxy += conj(x) y over interleaved pairs.
using Multiply = void (*)(std::size_t count, const float* a, const float* b, float* out);
using Accumulate = void (*)(std::size_t count, const float* x, const float* y, float* gxx, float* gyy, float* gxy);
void multiply_portable(std::size_t, const float*, const float*, float*);
void multiply_wide(std::size_t, const float*, const float*, float*);
void accumulate_portable(std::size_t, const float*, const float*, float*, float*, float*);
void accumulate_wide(std::size_t, const float*, const float*, float*, float*, float*);

// The processor has AVX2 and FMA.
[[nodiscard]] bool processor_is_wide();

}  // namespace proofwalk::signal::lanes
