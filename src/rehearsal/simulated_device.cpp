// The room as an audio device: the same requests as a real one, the same recordings, as fast as they can be worked out
// unless the settings ask for real time.

#include <algorithm>
#include <chrono>
#include <cmath>
#include <thread>

#include "rehearsal/simulated_room.hpp"

namespace proofwalk::rehearsal {
namespace {

constexpr double block_s = 0.1;  // between two reports

class SimulatedDevice final : public capture::Device {
public:
    explicit SimulatedDevice(SimulatedRoom& room) : room_(room) {}

    [[nodiscard]] capture::DeviceInfo info() const override {
        int outputs = static_cast<int>(room_.plan().circuits().size());
        for (const plan::Box& box : room_.plan().boxes) outputs = std::max(outputs, box.output.value_or(0));
        return {"rehearsal", "rehearsal", 1 + static_cast<int>(room_.plan().positions.size()), outputs, room_.settings().rate_hz};
    }

    [[nodiscard]] Result<capture::Recording> run(const capture::PlayRequest& request,
                                                 const std::function<void(const capture::Progress&)>& report,
                                                 const std::atomic<bool>& stop) override {
        auto recording = room_.render(request);
        if (!recording) return recording;
        const auto block = static_cast<std::size_t>(block_s * recording->rate_hz);
        const std::size_t samples = recording->channels.front().size();
        const auto begun = std::chrono::steady_clock::now();
        for (std::size_t done = 0; done < samples;) {
            const std::size_t next = std::min(samples, done + block);
            capture::Progress progress{static_cast<double>(next) / recording->rate_hz, request.seconds, {}};
            for (const auto& channel : recording->channels) {
                float peak = 0.0F;
                for (std::size_t index = done; index < next; ++index) peak = std::max(peak, std::abs(channel[index]));
                progress.peak.push_back(peak);
            }
            done = next;
            if (room_.settings().real_time) std::this_thread::sleep_until(begun + std::chrono::duration<double>(progress.done_s));
            if (report) report(progress);
            if (stop)
                return std::unexpected(Fault{FaultKind::device, "", "device rehearsal", "the take was stopped by hand",
                                             "take it again when you are ready"});
        }
        return recording;
    }

private:
    SimulatedRoom& room_;
};

}  // namespace

std::unique_ptr<capture::Device> simulated_device(SimulatedRoom& room) { return std::make_unique<SimulatedDevice>(room); }

}  // namespace proofwalk::rehearsal
