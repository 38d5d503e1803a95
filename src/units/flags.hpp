// Quality flags of a reading. Each is raised by one defect and says so in one word.
#pragma once

#include <cstdint>
#include <string_view>
#include <vector>

namespace proofwalk {

enum class Flag : std::uint32_t {
    clipped = 1u << 0,          // flat tops at full scale
    clipped_before = 1u << 1,   // flat tops below full scale: clipped before the converter
    dropped = 1u << 2,          // a lost or repeated block of samples
    noisy = 1u << 3,            // too little signal above the noise for a good figure
    no_signal = 1u << 4,        // nothing of the test signal is heard
    no_reference = 1u << 5,     // no reference channel or signal: arrivals count only against each other
    swapped_reference = 1u << 6,  // the reference channel looks like a mic and a mic like the reference
    reference_not_flat = 1u << 7,
    hum = 1u << 8,              // mains hum and harmonics
    tail_cut = 1u << 9,         // the recording ends before the sound has died away
    clock_drift = 1u << 10,     // reference and mic run on different clocks
    reflection_in_gate = 1u << 11,  // an early reflection stands inside the direct-sound gate
    weak_arrival = 1u << 12,    // the first arrival is not certain
    limiter = 1u << 13,         // the level did not follow the drive
    burst = 1u << 14,           // a knock or shout during the take
    dead_channel = 1u << 15,    // exact zeros: the channel carries nothing at all
};

class Flags {
public:
    constexpr Flags() = default;
    constexpr explicit Flags(std::uint32_t bits) : bits_(bits) {}
    constexpr void raise(Flag flag) { bits_ |= static_cast<std::uint32_t>(flag); }
    constexpr void raise(Flags other) { bits_ |= other.bits_; }
    constexpr void lower(Flag flag) { bits_ &= ~static_cast<std::uint32_t>(flag); }
    [[nodiscard]] constexpr bool has(Flag flag) const { return (bits_ & static_cast<std::uint32_t>(flag)) != 0; }
    [[nodiscard]] constexpr bool empty() const { return bits_ == 0; }
    [[nodiscard]] constexpr std::uint32_t bits() const { return bits_; }
    friend constexpr bool operator==(const Flags&, const Flags&) = default;

private:
    std::uint32_t bits_ = 0;
};

// The words as they stand in readings, columns and screens: "clipped", "no-signal", ...
[[nodiscard]] std::string_view word(Flag flag);
[[nodiscard]] std::vector<std::string_view> words(Flags flags);

}  // namespace proofwalk
