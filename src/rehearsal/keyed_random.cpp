#include "rehearsal/keyed_random.hpp"

#include <cmath>
#include <numbers>

namespace proofwalk::rehearsal {
namespace {

// SplitMix64 (Steele, Lea, Flood 2014): one multiply-xorshift chain over a counter.
std::uint64_t scrambled(std::uint64_t value) {
    value = (value ^ (value >> 30)) * 0xbf58476d1ce4e5b9ull;
    value = (value ^ (value >> 27)) * 0x94d049bb133111ebull;
    return value ^ (value >> 31);
}

// FNV-1a, 64 bit.
std::uint64_t hashed(std::uint64_t hash, std::string_view text) {
    for (const char letter : text) hash = (hash ^ static_cast<unsigned char>(letter)) * 0x100000001b3ull;
    return (hash ^ 0xffu) * 0x100000001b3ull;
}

}  // namespace

KeyedRandom::KeyedRandom(unsigned seed, std::initializer_list<std::string_view> purpose) : state_(0xcbf29ce484222325ull) {
    for (const std::string_view word : purpose) state_ = hashed(state_, word);
    state_ = scrambled(state_ + 0x9e3779b97f4a7c15ull * (static_cast<std::uint64_t>(seed) + 1));
}

std::uint64_t KeyedRandom::bits() {
    state_ += 0x9e3779b97f4a7c15ull;
    return scrambled(state_);
}

double KeyedRandom::uniform() { return static_cast<double>(bits() >> 11) * 0x1.0p-53; }

double KeyedRandom::uniform(double low, double high) { return low + (high - low) * uniform(); }

double KeyedRandom::normal() {
    const double radius = std::sqrt(-2.0 * std::log(1.0 - uniform()));
    return radius * std::cos(2.0 * std::numbers::pi * uniform());
}

float KeyedRandom::rough_normal() {
    const std::uint64_t value = bits();
    constexpr std::uint64_t mask = (1u << 21) - 1;
    const auto sum = static_cast<double>((value & mask) + ((value >> 21) & mask) + ((value >> 42) & mask));
    return static_cast<float>(2.0 * (sum / static_cast<double>(mask) - 1.5));  // variance of the sum: 3/12
}

double KeyedRandom::spread(double standard_deviation) {
    double value = normal();
    while (std::abs(value) > 2.0) value = normal();
    return standard_deviation * value;
}

}  // namespace proofwalk::rehearsal
