// Devices by name, shared by takes and meters.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <utility>

#include "capture/device.hpp"
#include "capture/shared_stream.hpp"

namespace proofwalk::capture {

struct DevicePair {
    DeviceInfo recorder;
    std::optional<DeviceInfo> player;  // absent: the recorder plays too
};
[[nodiscard]] Result<DevicePair> find_devices(const std::string& name);

void name_devices(StreamControl& control, const DeviceInfo& recorder, const std::optional<DeviceInfo>& player);
[[nodiscard]] std::unique_ptr<Device> portaudio_device(DeviceInfo recorder, std::optional<DeviceInfo> player);

[[nodiscard]] Fault device_fault(const std::string& device, std::string reason, std::string remedy);
void keep_chatter(const std::string& text);

}  // namespace proofwalk::capture
