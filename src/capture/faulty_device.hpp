// Devices that misbehave, for training and tests: a stand-in in front of any other device, so that a person learns at home what
// each fault looks like. `--device rehearsal:dropping` and so on.
#pragma once

#include <memory>
#include <optional>
#include <string_view>

#include "capture/device.hpp"

namespace proofwalk::capture {

enum class DeviceTrouble {
    dropping,  // every take loses one block of samples: by turns exact zeros in its place, or the rest moved up; nothing is reported
    clipping,  // every mic is overdriven into flat tops at full scale
    drifting,  // the mics run on a clock of their own, 100 ppm fast against the reference
    dying,     // lost in mid-take; then away for one take; then well for one take; then again
};

[[nodiscard]] std::optional<DeviceTrouble> device_trouble_from_word(std::string_view word);  // "dropping", ...
[[nodiscard]] std::string_view word(DeviceTrouble trouble);

inline constexpr double drifting_ppm = 100.0;

// `device` does the take; the trouble is put into what it gave. The same seed gives the same troubles.
[[nodiscard]] std::unique_ptr<Device> with_trouble(std::unique_ptr<Device> device, DeviceTrouble trouble, unsigned seed = 1);

}  // namespace proofwalk::capture
