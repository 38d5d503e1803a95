#include "signal/resample.hpp"

#include <array>
#include <cmath>
#include <numbers>

namespace proofwalk::signal {
namespace {

constexpr int half_width = 24;
constexpr int phases = 1024;  // between two, the kernel is interpolated linearly

struct Kernel {
    // row p: taps for the fraction p / phases, tap k for the sample k - half_width + 1 after the whole part
    std::array<std::array<float, 2 * half_width>, phases + 1> rows{};

    Kernel() {
        for (int p = 0; p <= phases; ++p)
            for (int k = 0; k < 2 * half_width; ++k) {
                const double x = static_cast<double>(k - half_width + 1) - static_cast<double>(p) / phases;
                const double angle = std::numbers::pi * x;
                const double sinc = std::fabs(x) < 1e-12 ? 1.0 : std::sin(angle) / angle;
                const double w = std::numbers::pi * x / half_width;
                // Blackman window.
                const double window = std::fabs(x) >= half_width ? 0.0 : 0.42 + 0.5 * std::cos(w) + 0.08 * std::cos(2.0 * w);
                rows[static_cast<std::size_t>(p)][static_cast<std::size_t>(k)] = static_cast<float>(sinc * window);
            }
    }
};

const Kernel& kernel() {
    static const Kernel made;
    return made;
}

}  // namespace

std::vector<float> resampled(std::span<const float> samples, double step, std::size_t length) {
    const Kernel& taps = kernel();
    std::vector<float> out(length, 0.0f);
    const auto count = static_cast<std::ptrdiff_t>(samples.size());
    for (std::size_t n = 0; n < length; ++n) {
        const double position = static_cast<double>(n) * step;
        const double whole = std::floor(position);
        const double fine = (position - whole) * phases;
        const auto phase = static_cast<std::size_t>(fine);
        const auto between = static_cast<float>(fine - static_cast<double>(phase));
        const auto& low = taps.rows[phase];
        const auto& high = taps.rows[std::min<std::size_t>(phase + 1, phases)];
        const std::ptrdiff_t first = static_cast<std::ptrdiff_t>(whole) - half_width + 1;
        float sum = 0.0f;
        for (std::ptrdiff_t k = 0; k < 2 * half_width; ++k) {
            const std::ptrdiff_t at = first + k;
            if (at < 0 || at >= count) continue;
            const auto tap = static_cast<std::size_t>(k);
            sum += samples[static_cast<std::size_t>(at)] * (low[tap] + between * (high[tap] - low[tap]));
        }
        out[n] = sum;
    }
    return out;
}

}  // namespace proofwalk::signal
