// The device that a person chose on this machine: kept in the configuration directory (XDG), not in the show, because another laptop has
// another interface.
#pragma once

#include <filesystem>
#include <optional>
#include <string>

#include "units/fault.hpp"

namespace proofwalk::capture {

struct DevicePreference {
    std::string device;        // as open_device takes it
    double rate_hz = 48000.0;
    int reference = 1;         // capture channel of the loopback, from 1
};

// $XDG_CONFIG_HOME/proofwalk/device.toml, or ~/.config/proofwalk/device.toml (XDG base directory specification); empty without a home.
[[nodiscard]] std::filesystem::path preference_file();

// Nothing when there is none yet. A file that can't be used is a fault that says so; the walk goes on with a choice by hand.
[[nodiscard]] Result<std::optional<DevicePreference>> load_preference(const std::filesystem::path& file = preference_file());
[[nodiscard]] Result<void> save_preference(const DevicePreference& preference, const std::filesystem::path& file = preference_file());

}  // namespace proofwalk::capture
