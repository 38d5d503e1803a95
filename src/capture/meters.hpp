// Meters before a take: the inputs are heard continuously, nothing is played. Runs in a child process as takes do.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "capture/device.hpp"

namespace proofwalk::capture {

struct ChannelMeter {
    double peak_dbfs = -200.0;   // since the last look, dB re full scale; -200 for digital silence
    double level_dbfs = -200.0;  // rms, dB re a full-scale sine
};

class Meters {
public:
    virtual ~Meters() = default;
    // What came in since the last call; at most the newest kept_s. Meant to be asked a few times a second.
    [[nodiscard]] virtual std::vector<ChannelMeter> look() = 0;
    // The newest samples of a channel (from 1), at most `seconds` and kept_s of them.
    [[nodiscard]] virtual std::vector<float> recent(int channel, double seconds) const = 0;
    // Set once the device is lost; then the meters stand still.
    [[nodiscard]] virtual std::optional<Fault> lost() = 0;
    [[nodiscard]] virtual double rate_hz() const = 0;
    [[nodiscard]] virtual int inputs() const = 0;

    static constexpr double kept_s = 8.0;
};

// Waits until the first samples are there; ends with the object.
[[nodiscard]] Result<std::unique_ptr<Meters>> start_meters(const std::string& device, int inputs, double rate_hz);

}  // namespace proofwalk::capture
