// Seeded random numbers of the trials; the same seed plays the same show on every machine (no library distributions).
#pragma once

#include <cmath>
#include <cstdint>
#include <numbers>

namespace proofwalk::trials {

class Dice {
public:
    explicit Dice(std::uint64_t seed) : state_(seed * 0x9E3779B97F4A7C15ULL + 0xD1B54A32D192ED03ULL) { next(); }

    // 0 (included) .. 1 (excluded)
    double unit() { return static_cast<double>(next() >> 11) * 0x1.0p-53; }
    double between(double low, double high) { return low + (high - low) * unit(); }
    double spread(double half_width) { return between(-half_width, half_width); }
    double normal() {
        const double radius = std::sqrt(-2.0 * std::log(1.0 - unit()));
        return radius * std::cos(2.0 * std::numbers::pi * unit());
    }
    std::uint64_t below(std::uint64_t count) { return next() % count; }
    bool coin() { return (next() >> 40 & 1) != 0; }

private:
    std::uint64_t next() {  // splitmix64
        std::uint64_t z = (state_ += 0x9E3779B97F4A7C15ULL);
        z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ULL;
        z = (z ^ (z >> 27)) * 0x94D049BB133111EBULL;
        return z ^ (z >> 31);
    }
    std::uint64_t state_;
};

}  // namespace proofwalk::trials
