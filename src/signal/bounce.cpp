#include "signal/bounce.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>

namespace proofwalk::signal {

namespace {

constexpr std::ptrdiff_t half_taps = 3;
constexpr std::size_t taps = 2 * half_taps + 1;
constexpr int passes = 6;
constexpr double front_s = 0.2e-3;       // how much of the reflection the taps are fitted to
constexpr double damping = 1e-3;

using Taps = std::array<double, taps>;

// Gaussian elimination of a small positive definite system.
Taps solved(std::array<std::array<double, taps>, taps> matrix, Taps right) {
    for (std::size_t column = 0; column < taps; ++column)
        for (std::size_t row = column + 1; row < taps; ++row) {
            const double factor = matrix[row][column] / matrix[column][column];
            for (std::size_t k = column; k < taps; ++k) matrix[row][k] -= factor * matrix[column][k];
            right[row] -= factor * right[column];
        }
    Taps x{};
    for (std::size_t row = taps; row-- > 0;) {
        double sum = right[row];
        for (std::size_t k = row + 1; k < taps; ++k) sum -= matrix[row][k] * x[k];
        x[row] = sum / matrix[row][row];
    }
    return x;
}

double delayed(const std::vector<double>& samples, std::ptrdiff_t at) {
    return at >= 0 && at < static_cast<std::ptrdiff_t>(samples.size()) ? samples[static_cast<std::size_t>(at)] : 0.0;
}

std::vector<double> direct_of(std::span<const float> response, const Taps& c, std::ptrdiff_t delay) {
    std::vector<double> direct(response.begin(), response.end());
    for (std::ptrdiff_t n = 0; n < static_cast<std::ptrdiff_t>(direct.size()); ++n)
        for (std::size_t k = 0; k < taps; ++k)
            direct[static_cast<std::size_t>(n)] -= c[k] * delayed(direct, n - delay - static_cast<std::ptrdiff_t>(k) + half_taps);
    return direct;
}

}  // namespace

WithoutBounce without_bounce(std::span<const float> response, std::span<const float> band_response, double arrival, double delay, double rate_hz) {
    WithoutBounce result;
    const auto lag = static_cast<std::ptrdiff_t>(std::llround(delay));
    if (lag <= half_taps + 1 || response.size() != band_response.size()) {
        result.direct.assign(response.begin(), response.end());
        return result;
    }
    const auto begin = static_cast<std::ptrdiff_t>(arrival) + lag - half_taps - 2;
    const auto end = std::min(begin + 2 * half_taps + static_cast<std::ptrdiff_t>(front_s * rate_hz), static_cast<std::ptrdiff_t>(response.size()));
    Taps c{};
    double before = 0.0, after = 0.0;
    for (int pass = 0; pass < passes; ++pass) {
        const std::vector<double> direct = direct_of(band_response, c, lag);
        std::array<std::array<double, taps>, taps> matrix{};
        Taps right{};
        before = 0.0;
        for (std::ptrdiff_t n = std::max<std::ptrdiff_t>(begin, 0); n < end; ++n) {
            Taps row{};
            for (std::size_t k = 0; k < taps; ++k) row[k] = delayed(direct, n - lag - static_cast<std::ptrdiff_t>(k) + half_taps);
            const auto value = static_cast<double>(band_response[static_cast<std::size_t>(n)]);
            before += value * value;
            for (std::size_t i = 0; i < taps; ++i) {
                right[i] += row[i] * value;
                for (std::size_t j = 0; j < taps; ++j) matrix[i][j] += row[i] * row[j];
            }
        }
        double largest = 0.0;
        for (std::size_t k = 0; k < taps; ++k) largest = std::max(largest, matrix[k][k]);
        if (!(largest > 0.0)) break;
        for (std::size_t k = 0; k < taps; ++k) matrix[k][k] += damping * largest;
        c = solved(matrix, right);
        double sum = 0.0;
        for (const double tap : c) sum += std::abs(tap);
        if (!(sum < 4.0)) {  // no reflection looks like this
            c = {};
            break;
        }
    }
    const std::vector<double> band_direct = direct_of(band_response, c, lag);
    for (std::ptrdiff_t n = std::max<std::ptrdiff_t>(begin, 0); n < end; ++n) after += std::pow(band_direct[static_cast<std::size_t>(n)], 2);
    result.left = before > 0.0 ? std::min(1.0, after / before) : 1.0;
    const std::vector<double> direct = direct_of(response, c, lag);
    result.direct.reserve(direct.size());
    for (const double sample : direct) result.direct.push_back(static_cast<float>(sample));
    return result;
}

}  // namespace proofwalk::signal
