#include "log/impulse_rounding.hpp"

#include <algorithm>
#include <cmath>

namespace proofwalk::log {
namespace {

constexpr std::size_t parts = 16;  // of the impulse response, the quietest of which is taken for noise
constexpr double steps_per_deviation = 32.0;
constexpr int steps_below_peak = 21;  // powers of two

double quietest_rms(const std::vector<float>& samples) {
    const std::size_t length = std::max<std::size_t>(1, samples.size() / parts);
    double quietest = -1.0;
    for (std::size_t first = 0; first + length <= samples.size(); first += length) {
        double sum = 0.0;
        for (std::size_t at = first; at < first + length; ++at) sum += static_cast<double>(samples[at]) * samples[at];
        const double rms = std::sqrt(sum / static_cast<double>(length));
        quietest = quietest < 0.0 ? rms : std::min(quietest, rms);
    }
    return std::max(quietest, 0.0);
}

}  // namespace

void round_impulse(signal::Evidence& evidence) {
    double peak = 0.0;
    for (const float sample : evidence.impulse) {
        if (!std::isfinite(sample)) return;  // left as it is: its flags say more
        peak = std::max(peak, static_cast<double>(std::abs(sample)));
    }
    if (peak == 0.0) {
        std::ranges::fill(evidence.impulse, 0.0F);  // also the negative zeros
        return;
    }
    const int least = std::ilogb(peak) - steps_below_peak;
    const double noise = quietest_rms(evidence.impulse) / steps_per_deviation;
    const int exponent = noise > 0.0 ? std::max(least, std::ilogb(noise)) : least;
    const double step = std::ldexp(1.0, exponent), steps_per_unit = std::ldexp(1.0, -exponent);
    // Added and taken off again, it leaves whole numbers: at its size the last digit of a double (IEEE 754) counts one.
    constexpr double whole_digits = 0x1.8p52;
    for (float& sample : evidence.impulse) {
        const double steps = static_cast<double>(sample) * steps_per_unit + whole_digits - whole_digits;
        sample = static_cast<float>(steps * step) + 0.0F;  // -0 becomes 0
    }
}

}  // namespace proofwalk::log
