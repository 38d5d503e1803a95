#include "signal/lone_reference.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "signal/deconvolve.hpp"

namespace proofwalk::signal {
namespace {

constexpr double before_s = 0.05, longest_after_s = 0.25, fade_s = 0.01;

// Index of the first response: the earliest one that reaches half of the strongest.
std::size_t first_response(std::span<const float> response) {
    float strongest = 0.0F;
    for (const float value : response) strongest = std::max(strongest, std::abs(value));
    std::size_t first = 0;
    while (std::abs(response[first]) < 0.5F * strongest) ++first;
    while (first + 1 < response.size() && std::abs(response[first + 1]) > std::abs(response[first])) ++first;
    return first;
}

}  // namespace

std::vector<float> lone_reference(std::span<const float> reference, std::span<const float> played, double rate_hz, double next_s) {
    const std::size_t size = fast_size(std::max(reference.size(), played.size()) + static_cast<std::size_t>(0.5 * rate_hz));
    const Excitation excitation(played, rate_hz, size);
    const RealFft& fft = excitation.fft();
    std::vector<float> response = fft.inverse(excitation.divide(fft.forward(reference)));
    const std::size_t first = first_response(response);
    const auto before = static_cast<std::ptrdiff_t>(before_s * rate_hz), fade = static_cast<std::ptrdiff_t>(fade_s * rate_hz);
    const auto after = static_cast<std::ptrdiff_t>(std::min(0.5 * next_s, longest_after_s) * rate_hz);
    std::vector<float> kept(size, 0.0F);
    for (std::ptrdiff_t lag = -before; lag < after; ++lag) {
        const std::ptrdiff_t to_end = std::min(lag + before, after - lag);
        const double gain = to_end >= fade ? 1.0 : 0.5 - 0.5 * std::cos(std::numbers::pi * static_cast<double>(to_end) / static_cast<double>(fade));
        const auto whole = static_cast<std::ptrdiff_t>(size);
        const auto n = static_cast<std::size_t>(((static_cast<std::ptrdiff_t>(first) + lag) % whole + whole) % whole);
        kept[n] = response[n] * static_cast<float>(gain);
    }
    Spectrum spectrum = fft.forward(kept);
    for (std::size_t bin = 0; bin < spectrum.size(); ++bin) spectrum[bin] *= excitation.spectrum()[bin];
    std::vector<float> alone = fft.inverse(spectrum);
    alone.resize(reference.size());
    return alone;
}

}  // namespace proofwalk::signal
