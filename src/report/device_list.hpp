// The list of audio devices, for people and for programs.
#pragma once

#include <string>
#include <vector>

namespace proofwalk::report {

struct DeviceRow {
    std::string name, host_system;
    int inputs = 0, outputs = 0;
    double rate_hz = 0.0;
};
[[nodiscard]] std::string devices_json(const std::vector<DeviceRow>& rows);
[[nodiscard]] std::string devices_text(const std::vector<DeviceRow>& rows);

}  // namespace proofwalk::report
