// One simulated show: the plan that the crew has, what really hangs there, and what is planted in it.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "plan/plan.hpp"
#include "trials/dice.hpp"

namespace proofwalk::trials {

enum class Rig { single, coupled, fills, point_destination, delay_chain, line, subs };
enum class Planted { none, aim_h, aim_v, splay, spacing, delay, gain, polarity, dead_high, dead_low, silent, swap, doubled };

inline constexpr int rig_count = 7;
inline constexpr int fault_count = 13;
const char* word(Rig rig);
const char* word(Planted kind);

enum class Drivers { all, no_high, no_low };

// A box as it really hangs.
struct Hung {
    acoustics::Pose pose;
    double gain_db = 0.0, delay_ms = 0.0;  // as set, planned part included
    bool inverted = false;
    bool silent = false;
    Drivers drivers = Drivers::all;
};

// The walls: a shoebox with one corner at low, the floor at z = 0.
struct Hall {
    const char* name = "";
    double low_x = 0, high_x = 0, high_y = 0, high_z = 0;  // y from -high_y to high_y
    double absorption = 0.3;   // of the walls at mid frequencies; the floor reflects more
    double floor_absorption = 0.15;
    double decay_s = 1.2;
    double diffuse_db = -12.0;  // steady level of the tail re 1 m of an omnidirectional box
};

struct Show {
    std::uint64_t seed = 0;
    Rig rig = Rig::single;
    plan::Plan plan;
    std::vector<Hung> hung;             // as plan.boxes
    std::vector<std::size_t> cable;     // cable[i]: which box the signal of circuit i reaches
    std::vector<std::optional<std::size_t>> joined;  // joined[i]: a second box on the cable of circuit i
    Planted fault = Planted::none;
    std::string fault_subject;
    double fault_amount = 0.0;
    Hall hall;
    acoustics::Air air;                 // as it really is
    double signal_to_noise_db = 35.0;
    int mics = 8;
};

struct Wish {
    std::optional<Rig> rig;
    std::optional<Planted> fault;
    double signal_to_noise_db = 35.0;
};
[[nodiscard]] Show show_of(std::uint64_t seed, const Wish& wish);

}  // namespace proofwalk::trials
