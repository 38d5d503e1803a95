// Numeric solving of one equation; the check on closed forms and the way where there is none. Internal to the folder
// and its tests.
#pragma once

#include <cmath>
#include <optional>

namespace proofwalk::acoustics {

// A zero of a continuous function between low and high, where it must change its sign; to the last bits of a double.
template <class Function>
[[nodiscard]] std::optional<double> find_root(Function&& f, double low, double high) {
    double at_low = f(low);
    const double at_high = f(high);
    if (at_low == 0.0) return low;
    if (at_high == 0.0) return high;
    if (!(std::signbit(at_low) != std::signbit(at_high))) return std::nullopt;
    for (int i = 0; i < 200; ++i) {
        const double middle = 0.5 * (low + high);
        if (middle == low || middle == high) break;
        const double value = f(middle);
        if (value == 0.0) return middle;
        if (std::signbit(value) == std::signbit(at_low)) {
            low = middle;
            at_low = value;
        } else {
            high = middle;
        }
    }
    return 0.5 * (low + high);
}

// The first place from low to high where the function changes its sign, looked for in steps.
template <class Function>
[[nodiscard]] std::optional<double> first_root(Function&& f, double low, double high, double step) {
    double before = f(low);
    for (double at = low; at < high;) {
        const double next = std::min(at + step, high);
        const double value = f(next);
        if (std::signbit(before) != std::signbit(value) || value == 0.0) return find_root(f, at, next);
        before = value;
        at = next;
    }
    return std::nullopt;
}

}  // namespace proofwalk::acoustics
