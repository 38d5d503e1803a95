#include "capture/meters.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <thread>
#include <utility>

#include <fmt/format.h>

#include "capture/child_process.hpp"
#include "capture/device_list.hpp"
#include "units/convert.hpp"

namespace proofwalk::capture {
namespace {

using Clock = std::chrono::steady_clock;
using std::chrono::milliseconds;

constexpr auto longest_start = milliseconds(5000);
constexpr auto silence_means_lost = milliseconds(1200);
constexpr auto longest_closing = milliseconds(1500);
constexpr double silence_dbfs = -200.0;

double dbfs(double amplitude) { return amplitude > 1e-10 ? amplitude_db(amplitude) : silence_dbfs; }

class PortAudioMeters final : public Meters {
public:
    PortAudioMeters(std::string device, SharedStream stream, ChildProcess child)
        : device_(std::move(device)), stream_(std::move(stream)), control_(stream_.control()), child_(std::move(child)) {}

    ~PortAudioMeters() override {
        control_.stop.store(1, std::memory_order_release);
        child_.wait(longest_closing);
        child_.end();
        keep_chatter(child_.chatter());
    }

    [[nodiscard]] Result<void> wait_for_samples() {
        const auto until = Clock::now() + longest_start;
        while (there() == 0) {
            if (auto fault = lost()) return std::unexpected(std::move(*fault));
            if (Clock::now() >= until)
                return std::unexpected(device_fault(device_, "the audio system does not answer", "restart the audio server or choose another device"));
            std::this_thread::sleep_for(milliseconds(4));
        }
        return {};
    }

    [[nodiscard]] std::vector<ChannelMeter> look() override {
        const std::uint64_t now = there();
        const std::uint64_t first = std::max(looked_, now > kept() ? now - kept() : 0);
        std::vector<ChannelMeter> meters;
        for (std::size_t c = 0; c < control_.inputs; ++c) {
            const auto samples = stream_.input(c);
            double peak = 0.0, power = 0.0;
            for (std::uint64_t n = first; n < now; ++n) {
                const double sample = samples[n % control_.capacity_frames];
                peak = std::max(peak, std::fabs(sample));
                power += sample * sample;
            }
            const double mean = now > first ? power / static_cast<double>(now - first) : 0.0;
            // A full-scale sine has a mean square of one half.
            meters.push_back({dbfs(peak), dbfs(std::sqrt(2.0 * mean))});
        }
        looked_ = now;
        return meters;
    }

    [[nodiscard]] std::vector<float> recent(int channel, double seconds) const override {
        std::vector<float> newest;
        if (channel < 1 || channel > static_cast<int>(control_.inputs) || !(seconds > 0.0)) return newest;
        const std::uint64_t now = there();
        const auto wanted = static_cast<std::uint64_t>(std::min(seconds, kept_s) * control_.rate_hz);
        const std::uint64_t first = now - std::min({wanted, now, kept()});
        const auto samples = stream_.input(static_cast<std::size_t>(channel - 1));
        for (std::uint64_t n = first; n < now; ++n) newest.push_back(samples[n % control_.capacity_frames]);
        return newest;
    }

    [[nodiscard]] std::optional<Fault> lost() override {
        const auto said = [&](std::string why) {
            return device_fault(device_, "was lost: " + std::move(why), "check its cable and the audio system, then start again");
        };
        const bool alive = child_.running();
        const Phase phase = control_.phase.load(std::memory_order_acquire);
        if (phase == Phase::refused)
            return device_fault(device_, "cannot be opened: " + std::string(get_text(control_.message)), "see: proofwalk devices");
        if (phase == Phase::lost) return said(std::string(get_text(control_.message)));
        if (!alive) return said("the audio system crashed");
        const auto now = Clock::now();
        const std::uint64_t frames = there();
        if (frames != last_frames_) last_change_ = now;
        last_frames_ = frames;
        if (frames > 0 && now - last_change_ > silence_means_lost && now - last_asked_ < silence_means_lost)
            return said("the audio system does not answer any more");
        last_asked_ = now;
        return std::nullopt;
    }

    [[nodiscard]] double rate_hz() const override { return control_.rate_hz; }
    [[nodiscard]] int inputs() const override { return static_cast<int>(control_.inputs); }

private:
    [[nodiscard]] std::uint64_t there() const { return control_.captured_frames.load(std::memory_order_acquire); }
    // The device writes on while we read: the oldest quarter of the ring is left to it.
    [[nodiscard]] std::uint64_t kept() const { return control_.capacity_frames - control_.capacity_frames / 4; }

    std::string device_;
    SharedStream stream_;
    StreamControl& control_;
    ChildProcess child_;
    std::uint64_t looked_ = 0, last_frames_ = 0;
    Clock::time_point last_change_ = Clock::now(), last_asked_ = Clock::now();
};

}  // namespace

Result<std::unique_ptr<Meters>> start_meters(const std::string& device, int inputs, double rate_hz) {
    const auto pair = find_devices(device);
    if (!pair) return std::unexpected(pair.error());
    if (inputs < 1 || inputs > std::min(pair->recorder.inputs, static_cast<int>(most_stream_channels)))
        return std::unexpected(device_fault(device, fmt::format("has {} inputs, input {} is asked for", pair->recorder.inputs, inputs),
                                            "choose other channels or another device"));
    if (!(rate_hz >= 44100.0 && rate_hz <= 192000.0))
        return std::unexpected(device_fault(device, fmt::format("a rate of {} Hz is asked for", rate_hz), "choose 44.1 to 192 kHz"));
    StreamControl shape;
    shape.inputs = static_cast<std::uint32_t>(inputs);
    shape.capacity_frames = static_cast<std::uint64_t>(Meters::kept_s * rate_hz * 4.0 / 3.0) + 4;
    auto stream = SharedStream::create(shape);
    if (!stream) return std::unexpected(stream.error());
    StreamControl& control = stream->control();
    control.job = Job::stream;
    control.rate_hz = rate_hz;
    name_devices(control, pair->recorder, std::nullopt);
    auto child = ChildProcess::start(*stream);
    if (!child) return std::unexpected(child.error());
    auto meters = std::make_unique<PortAudioMeters>(device, std::move(*stream), std::move(*child));
    if (auto begun = meters->wait_for_samples(); !begun) return std::unexpected(begun.error());
    return meters;
}

}  // namespace proofwalk::capture
