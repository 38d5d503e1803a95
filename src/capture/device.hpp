// The device interface: play one signal, capture all channels. PortAudio, the rehearsal and faulty stand-ins implement it.
#pragma once

#include <atomic>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "capture/recording.hpp"

namespace proofwalk::capture {

struct DeviceInfo {
    std::string name;         // stable name, as --device takes it
    std::string host_system;  // "JACK", "ALSA", "rehearsal"
    int inputs = 0, outputs = 0;
    double rate_hz = 48000.0;  // its preferred rate
};

// One playback and capture. Outputs not named stay silent.
struct PlayRequest {
    TakeSheet sheet;
    double rate_hz = 48000.0;
    struct Output {
        int channel = 0;  // from 1
        std::vector<float> samples;
    };
    std::vector<Output> outputs;   // the signal on its circuit's output and on the loopback's output, where that is another
    int inputs = 0;                // how many input channels to open
    double seconds = 0.0;          // whole length captured
    std::vector<float> played;     // the signal alone, kept with the recording
};

struct Progress {
    double done_s = 0.0;
    double whole_s = 0.0;
    std::vector<float> peak;  // per input channel since the last report, full scale 1.0
};

class Device {
public:
    virtual ~Device() = default;
    [[nodiscard]] virtual DeviceInfo info() const = 0;
    // Blocks until all is captured, it fails, or `stop` is set (then a fade within 50 ms and a fault that says so).
    // Lost samples do not fail the take: they are marked in the recording. A device that is lost in mid-take gives what was
    // captured so far with `ended_early` set; one that never delivered anything is a fault.
    [[nodiscard]] virtual Result<Recording> run(const PlayRequest& request, const std::function<void(const Progress&)>& report,
                                                const std::atomic<bool>& stop) = 0;
};

// Real devices of this machine, through PortAudio in a child process.
[[nodiscard]] Result<std::vector<DeviceInfo>> list_devices();
// By its name as listed, or "HOST:NAME" ("JACK:hall") where two host systems have one of that name. "PLAYER > RECORDER" plays on one
// device and captures on another: their clocks drift apart, which the take states in ppm and which does not matter to figures
// that are taken against a reference captured beside the mics.
[[nodiscard]] Result<std::unique_ptr<Device>> open_device(const std::string& name);

// What the audio libraries printed since the program began, the newest of it, for --verbose; usually of no interest.
[[nodiscard]] std::string device_chatter();

// The hidden entry of the child process: main() calls it first; returns an exit status when argv names the child, else
// nothing.
[[nodiscard]] std::optional<int> run_as_capture_child(int argc, char** argv);

}  // namespace proofwalk::capture
