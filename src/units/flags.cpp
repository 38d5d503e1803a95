#include "units/flags.hpp"

#include <array>
#include <utility>

namespace proofwalk {
namespace {

constexpr std::array<std::pair<Flag, std::string_view>, 16> names = {{
    {Flag::clipped, "clipped"},
    {Flag::clipped_before, "clipped-before"},
    {Flag::dropped, "dropped"},
    {Flag::noisy, "noisy"},
    {Flag::no_signal, "no-signal"},
    {Flag::no_reference, "no-reference"},
    {Flag::swapped_reference, "swapped-reference"},
    {Flag::reference_not_flat, "reference-not-flat"},
    {Flag::hum, "hum"},
    {Flag::tail_cut, "tail-cut"},
    {Flag::clock_drift, "clock-drift"},
    {Flag::reflection_in_gate, "reflection-in-gate"},
    {Flag::weak_arrival, "weak-arrival"},
    {Flag::limiter, "limiter"},
    {Flag::burst, "burst"},
    {Flag::dead_channel, "dead-channel"},
}};

}  // namespace

std::string_view word(Flag flag) {
    for (const auto& [candidate, name] : names)
        if (candidate == flag) return name;
    return "";
}

std::vector<std::string_view> words(Flags flags) {
    std::vector<std::string_view> list;
    for (const auto& [flag, name] : names)
        if (flags.has(flag)) list.push_back(name);
    return list;
}

}  // namespace proofwalk
