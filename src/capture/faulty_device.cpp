#include "capture/faulty_device.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <random>
#include <utility>

#include <fmt/format.h>

#include "capture/stream_damage.hpp"
#include "signal/resample.hpp"

namespace proofwalk::capture {
namespace {

constexpr std::array<std::pair<DeviceTrouble, std::string_view>, 4> troubles = {{
    {DeviceTrouble::dropping, "dropping"},
    {DeviceTrouble::clipping, "clipping"},
    {DeviceTrouble::drifting, "drifting"},
    {DeviceTrouble::dying, "dying"},
}};

constexpr std::size_t lost_block = 512;
constexpr float overdrive = 2.0f;  // a mic's peak, full scale being 1

class FaultyDevice final : public Device {
public:
    FaultyDevice(std::unique_ptr<Device> device, DeviceTrouble trouble, unsigned seed)
        : device_(std::move(device)), trouble_(trouble), random_(seed) {}

    [[nodiscard]] DeviceInfo info() const override {
        DeviceInfo info = device_->info();
        info.name += fmt::format(":{}", word(trouble_));
        return info;
    }

    [[nodiscard]] Result<Recording> run(const PlayRequest& request, const std::function<void(const Progress&)>& report,
                                        const std::atomic<bool>& stop) override {
        // Trials come through as they are: what a person trains for is the take.
        if (request.sheet.trial) return device_->run(request, report, stop);
        const unsigned turn = takes_++;
        if (trouble_ == DeviceTrouble::dying && turn % 3 == 1)
            return std::unexpected(Fault{FaultKind::device, "", "device " + info().name, "is not there",
                                         "plug it in again, then take again"});
        auto take = device_->run(request, report, stop);
        if (!take) return take;
        take->device = info().name;
        const auto wanted = static_cast<std::size_t>(std::llround(request.seconds * request.rate_hz));
        switch (trouble_) {
            case DeviceTrouble::dropping: drop(*take, turn % 2 == 0); break;
            case DeviceTrouble::clipping: clip(*take); break;
            case DeviceTrouble::drifting: drift(*take); break;
            case DeviceTrouble::dying:
                if (turn % 3 == 0) die(*take);
                break;
        }
        complete(*take, wanted);
        return take;
    }

private:
    // Somewhere in the middle half, where the signal sounds.
    [[nodiscard]] std::size_t moment_in(const Recording& take) {
        const std::size_t length = take.channels.front().size();
        return std::uniform_int_distribution<std::size_t>(length / 4, length / 2)(random_);
    }

    void drop(Recording& take, bool leave_zeros) {
        const std::size_t at = moment_in(take);
        for (auto& channel : take.channels) {
            const std::size_t end = std::min(channel.size(), at + lost_block);
            const auto first = channel.begin() + static_cast<std::ptrdiff_t>(at);
            const auto last = channel.begin() + static_cast<std::ptrdiff_t>(end);
            if (leave_zeros)
                std::fill(first, last, 0.0f);
            else
                channel.erase(first, last);
        }
    }

    static void clip(Recording& take) {
        for (const MicChannel& mic : take.sheet.mics) {
            auto& channel = take.channels[static_cast<std::size_t>(mic.channel - 1)];
            float peak = 0.0f;
            for (const float sample : channel) peak = std::max(peak, std::fabs(sample));
            if (peak == 0.0f) continue;
            for (float& sample : channel) sample = std::clamp(sample * (overdrive / peak), -1.0f, 1.0f);
        }
    }

    static void drift(Recording& take) {
        for (const MicChannel& mic : take.sheet.mics) {
            auto& channel = take.channels[static_cast<std::size_t>(mic.channel - 1)];
            channel = signal::resampled(channel, 1.0 - drifting_ppm * 1e-6, channel.size());
        }
    }

    void die(Recording& take) {
        const std::size_t left = moment_in(take);
        for (auto& channel : take.channels) channel.resize(left);
        take.lost_samples = true;
        take.ended_early = Fault{FaultKind::device, "", "device " + info().name, "was lost in mid-take: it was unplugged",
                                 "check its cable and the audio system, then take it again"};
    }

    std::unique_ptr<Device> device_;
    DeviceTrouble trouble_;
    std::mt19937 random_;
    unsigned takes_ = 0;
};

}  // namespace

std::optional<DeviceTrouble> device_trouble_from_word(std::string_view text) {
    for (const auto& [trouble, name] : troubles)
        if (name == text) return trouble;
    return std::nullopt;
}

std::string_view word(DeviceTrouble trouble) {
    for (const auto& [candidate, name] : troubles)
        if (candidate == trouble) return name;
    return "";
}

std::unique_ptr<Device> with_trouble(std::unique_ptr<Device> device, DeviceTrouble trouble, unsigned seed) {
    return std::make_unique<FaultyDevice>(std::move(device), trouble, seed);
}

}  // namespace proofwalk::capture
