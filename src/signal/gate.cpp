#include "signal/gate.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace proofwalk::signal {

std::vector<float> gated(std::span<const float> impulse, double rate_hz, const Gate& gate) {
    const auto size = static_cast<double>(impulse.size());
    const auto first = static_cast<std::size_t>(std::clamp(std::ceil((gate.opens_s - gate.lead_s) * rate_hz), 0.0, size));
    const auto last = static_cast<std::size_t>(std::clamp(std::floor(gate.closes_s * rate_hz) + 1.0, 0.0, size));
    const double fade_s = (gate.closes_s - gate.opens_s) / 3.0;
    std::vector<float> samples;
    samples.reserve(last > first ? last - first : 0);
    for (std::size_t n = first; n < last; ++n) {
        const double t = static_cast<double>(n) / rate_hz;
        double weight = 1.0;
        if (t < gate.opens_s && gate.lead_s > 0.0)
            weight = 0.5 + 0.5 * std::cos(std::numbers::pi * (gate.opens_s - t) / gate.lead_s);
        else if (fade_s > 0.0 && t > gate.closes_s - fade_s)
            weight = 0.5 + 0.5 * std::cos(std::numbers::pi * (t - gate.closes_s + fade_s) / fade_s);
        samples.push_back(static_cast<float>(weight * static_cast<double>(impulse[n])));
    }
    return samples;
}

}  // namespace proofwalk::signal
