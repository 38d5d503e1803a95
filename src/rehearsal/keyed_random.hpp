// Random numbers that depend on the seed and on what they are for, not on the order in which things are rendered: the
// same mic at the same position stands at the same place whatever was taken before. The same on every machine.
#pragma once

#include <cstdint>
#include <initializer_list>
#include <string_view>

namespace proofwalk::rehearsal {

class KeyedRandom {
public:
    KeyedRandom(unsigned seed, std::initializer_list<std::string_view> purpose);

    [[nodiscard]] std::uint64_t bits();
    [[nodiscard]] double uniform();                         // 0 (included) .. 1 (excluded)
    [[nodiscard]] double uniform(double low, double high);
    [[nodiscard]] double normal();                          // mean 0, standard deviation 1
    // Sum of three uniforms, standard deviation 1: close enough to normal for reverberation, and ten times as fast.
    [[nodiscard]] float rough_normal();
    // Normal with the tails cut at two standard deviations: nobody hangs a box five sigma off unnoticed.
    [[nodiscard]] double spread(double standard_deviation);

private:
    std::uint64_t state_;
};

}  // namespace proofwalk::rehearsal
