// An invented room for tests of the measurement: one box, one mic, everything planted and known.
// Its parts (analogue filters of a two-way box, image of the floor, side reflections, diffuse tail, air) share no code
// with what is tested.
#pragma once

#include <complex>
#include <cstdint>
#include <array>
#include <cstddef>
#include <random>
#include <vector>

#include "units/bands.hpp"

namespace proofwalk::test {

struct RoomSettings {
    double rate_hz = 48000.0;
    std::size_t samples = 262144;     // of a whole take
    double aim_low_hz = 2000.0, aim_high_hz = 8000.0;
    double range_low_hz = 60.0, range_high_hz = 18000.0;
    bool sub = false;                 // a box that ends at 100 Hz
    bool dead_high = false;           // only the low driver sounds
    bool dead_low = false;
    bool free_field = false;          // direct sound alone
    bool crossover = true;
};

struct Room {
    RoomSettings settings;
    std::vector<std::complex<double>> direct, whole;  // transfer functions, lines 0 .. samples/2
    double arrival_s = 0.0;                           // of the direct sound's wave front
    int polarity = 1;
    double direct_aim_db = 0.0;                       // power mean of the third octaves of the aim band, direct sound
    BandLevels direct_db, whole_db;
    double bounce_after_s = 0.0;
    double bounce_db = 0.0;                           // re direct, in the aim band
    double strongest_after_s = 0.0, strongest_db = -100.0;  // strongest single reflection re direct
};

[[nodiscard]] Room make_room(const RoomSettings& settings, std::uint64_t seed);

struct NoiseOptions {
    double aim_snr_db = 30.0;   // of the mic signal over the noise while the signal sounds, in the aim band
    int knocks = 0;             // short bursts, a few times louder than the signal
};

// What the mic records when `played` (padded with silence to the take's length) sounds in the room.
[[nodiscard]] std::vector<float> record(const Room& room, const std::vector<float>& played, const NoiseOptions& noise, std::uint64_t seed);

}  // namespace proofwalk::test
