// The parent's side of a capture: it prepares the shared memory, starts the child, watches it and collects the samples.
#include <algorithm>
#include <chrono>
#include <cmath>
#include <future>
#include <thread>
#include <utility>

#include <fmt/format.h>

#include "capture/child_process.hpp"
#include "capture/device.hpp"
#include "capture/device_list.hpp"
#include "capture/likeness.hpp"
#include "capture/shared_stream.hpp"
#include "capture/stream_damage.hpp"

namespace proofwalk::capture {
namespace {

using Clock = std::chrono::steady_clock;
using std::chrono::milliseconds;

constexpr auto look_every = milliseconds(4);
constexpr auto report_every = milliseconds(100);
constexpr auto longest_start = milliseconds(5000);    // a frozen audio system hangs its caller for ever
constexpr auto silence_means_lost = milliseconds(1200);  // the child says so itself after 1 s, unless it is stuck
constexpr auto longest_fade = milliseconds(500);
constexpr auto longest_closing = milliseconds(1500);
constexpr double fade_s = 0.02;
constexpr double longest_take_s = 600.0;
constexpr std::size_t most_take_samples = std::size_t{1} << 28;

class Session {
public:
    Session(const PlayRequest& request, const std::string& device, SharedStream& stream, ChildProcess& child)
        : request_(request), device_(device), stream_(stream), control_(stream.control()), child_(child) {}

    // Nothing: all is there. A fault with captured samples: it ended early.
    [[nodiscard]] std::optional<Fault> watch(const std::function<void(const Progress&)>& report, const std::atomic<bool>& stop) {
        const auto started = Clock::now();
        auto last_sample = started, last_report = started;
        std::uint64_t frames = 0;
        for (;;) {
            const bool alive = child_.running();
            const Phase phase = control_.phase.load(std::memory_order_acquire);
            if (phase == Phase::finished) return std::nullopt;
            if (phase == Phase::refused) return device_fault(device_, "cannot be opened: " + message(), "see: proofwalk devices");
            if (phase == Phase::lost) return lost(message());
            if (!alive) return lost("the audio system crashed");
            if (stop) return stopped_by_hand();
            const auto now = Clock::now();
            const std::uint64_t there = control_.captured_frames.load(std::memory_order_acquire);
            if (there != frames) last_sample = now;
            frames = there;
            if (frames == 0 && now - started > longest_start) return lost("the audio system does not answer");
            if (frames > 0 && now - last_sample > silence_means_lost) return lost("the audio system does not answer any more");
            if (report && now - last_report >= report_every) {
                report(progress(frames));
                last_report = now;
            }
            std::this_thread::sleep_for(look_every);
        }
    }

    [[nodiscard]] bool was_stopped() const { return stopped_; }

    [[nodiscard]] std::vector<std::vector<float>> captured() const {
        const std::uint64_t frames = control_.captured_frames.load(std::memory_order_acquire);
        std::vector<std::vector<float>> channels;
        for (std::size_t c = 0; c < control_.inputs; ++c) {
            const auto samples = stream_.input(c).first(frames);
            channels.emplace_back(samples.begin(), samples.end());
        }
        return channels;
    }

    [[nodiscard]] Progress progress(std::uint64_t frames) {
        Progress now{static_cast<double>(frames) / request_.rate_hz, request_.seconds, {}};
        for (std::size_t c = 0; c < control_.inputs; ++c) {
            float peak = 0.0f;
            for (const float sample : stream_.input(c).subspan(reported_, frames - reported_)) peak = std::max(peak, std::fabs(sample));
            now.peak.push_back(peak);
        }
        reported_ = frames;
        return now;
    }

private:
    [[nodiscard]] std::string message() const { return std::string(get_text(control_.message)); }

    [[nodiscard]] Fault lost(const std::string& why) const {
        return device_fault(device_, "was lost in mid-take: " + why, "check its cable and the audio system, then take it again");
    }

    [[nodiscard]] Fault stopped_by_hand() {
        control_.stop.store(1, std::memory_order_release);
        const auto until = Clock::now() + longest_fade;
        while (child_.running() && control_.phase.load(std::memory_order_acquire) == Phase::running && Clock::now() < until)
            std::this_thread::sleep_for(milliseconds(1));
        // A device that takes no samples can't fade: its child ends, and the sound with it.
        if (control_.phase.load(std::memory_order_acquire) != Phase::stopped) child_.end();
        stopped_ = true;
        return device_fault(device_, "the take was stopped by hand", "take it again when you are ready");
    }

    const PlayRequest& request_;
    const std::string& device_;
    SharedStream& stream_;
    StreamControl& control_;
    ChildProcess& child_;
    std::uint64_t reported_ = 0;
    bool stopped_ = false;
};

class PortAudioDevice final : public Device {
public:
    PortAudioDevice(DeviceInfo recorder, std::optional<DeviceInfo> player)
        : recorder_(std::move(recorder)), player_(std::move(player)), info_(recorder_) {
        if (!player_) return;
        info_.name = player_->name + " > " + recorder_.name;
        info_.outputs = player_->outputs;
        if (player_->host_system != recorder_.host_system) info_.host_system = player_->host_system + ", " + recorder_.host_system;
    }

    [[nodiscard]] DeviceInfo info() const override { return info_; }

    [[nodiscard]] Result<Recording> run(const PlayRequest& request, const std::function<void(const Progress&)>& report,
                                        const std::atomic<bool>& stop) override {
        if (auto fault = unfit(request)) return std::unexpected(std::move(*fault));
        const auto frames = static_cast<std::uint64_t>(std::llround(request.seconds * request.rate_hz));
        auto stream = prepared(request, frames);
        if (!stream) return std::unexpected(stream.error());
        auto child = ChildProcess::start(*stream);
        if (!child) return std::unexpected(child.error());

        // While it plays, there is time for what follows of the signal alone.
        auto probe = std::async(std::launch::async, [&request, frames]() -> std::optional<ReferenceProbe> {
            if (request.played.empty() || !request.sheet.reference || request.sheet.trial) return std::nullopt;
            return ReferenceProbe(request.played, frames);
        });
        Session session(request, info_.name, *stream, *child);
        std::optional<Fault> early = session.watch(report, stop);
        const bool none = stream->control().captured_frames.load(std::memory_order_acquire) == 0;
        if (!early && report) report(session.progress(frames));
        // A child that is stuck is ended at once; one that can still close its stream does, while the recording is looked through.
        const bool closes = stream->control().phase.load(std::memory_order_acquire) != Phase::running;
        if (!closes) child->end();
        Result<Recording> take = early && (session.was_stopped() || none)
                                     ? Result<Recording>(std::unexpected(std::move(*early)))
                                     : recording(request, session, stream->control(), frames, probe.get(), std::move(early));
        if (closes) child->wait(longest_closing);
        child->end();
        keep_chatter(child->chatter());
        return take;
    }

private:
    [[nodiscard]] std::optional<Fault> unfit(const PlayRequest& request) const {
        const auto refuse = [&](std::string reason, std::string remedy) {
            return device_fault(info_.name, std::move(reason), std::move(remedy));
        };
        const int most = static_cast<int>(most_stream_channels);
        if (request.inputs < 1 || request.inputs > std::min(info_.inputs, most))
            return refuse(fmt::format("has {} inputs, input {} is asked for", info_.inputs, request.inputs),
                          "choose other channels or another device");
        for (const auto& output : request.outputs)
            if (output.channel < 1 || output.channel > std::min(info_.outputs, most))
                return refuse(fmt::format("has {} outputs, output {} is asked for", info_.outputs, output.channel),
                              "choose another output or another device");
        if (request.rate_hz < 44100.0 || request.rate_hz > 192000.0)
            return refuse(fmt::format("a rate of {} Hz is asked for", request.rate_hz), "choose 44.1 to 192 kHz");
        const double samples = request.seconds * request.rate_hz * (request.inputs + static_cast<double>(request.outputs.size()));
        if (!(request.seconds > 0.0) || request.seconds > longest_take_s || samples > static_cast<double>(most_take_samples))
            return refuse(fmt::format("a take of {} s on {} channels is asked for", request.seconds, request.inputs),
                          fmt::format("take at most {} s, with fewer channels if it is that long", longest_take_s));
        return std::nullopt;
    }

    [[nodiscard]] Result<SharedStream> prepared(const PlayRequest& request, std::uint64_t frames) const {
        StreamControl shape;
        shape.inputs = static_cast<std::uint32_t>(request.inputs);
        shape.capacity_frames = frames;
        shape.playing = static_cast<std::uint32_t>(request.outputs.size());
        for (const auto& output : request.outputs)
            shape.play_frames = std::max<std::uint64_t>(shape.play_frames, output.samples.size());
        auto stream = SharedStream::create(shape);
        if (!stream) return stream;
        StreamControl& control = stream->control();
        control.job = Job::stream;
        name_devices(control, recorder_, player_);
        control.rate_hz = request.rate_hz;
        control.wanted_frames = frames;
        control.fade_frames = static_cast<std::uint64_t>(fade_s * request.rate_hz);
        for (std::size_t p = 0; p < request.outputs.size(); ++p) {
            const auto& output = request.outputs[p];
            control.playing_channel[p] = static_cast<std::uint32_t>(output.channel - 1);
            control.outputs = std::max(control.outputs, static_cast<std::uint32_t>(output.channel));
            std::copy(output.samples.begin(), output.samples.end(), stream->signal(p).begin());
        }
        return stream;
    }

    [[nodiscard]] Recording recording(const PlayRequest& request, const Session& session, const StreamControl& control,
                                      std::uint64_t frames, const std::optional<ReferenceProbe>& probe, std::optional<Fault> early) const {
        Recording take;
        take.sheet = request.sheet;
        if (!take.sheet.time) take.sheet.time = now();
        take.rate_hz = request.rate_hz;
        take.channels = session.captured();
        take.played = request.played;
        take.device = info_.name;
        take.overflows = static_cast<int>(control.overflows.load());
        take.underflows = static_cast<int>(control.underflows.load());
        take.lost_samples = early.has_value() || take.overflows > 0 || take.underflows > 0;
        take.ended_early = std::move(early);
        complete(take, frames, probe ? &*probe : nullptr);
        if (player_ && take.sheet.reference && !take.lost_samples)
            take.drift_ppm = clock_drift_ppm(signal_at_reference(take), take.channels[static_cast<std::size_t>(*take.sheet.reference - 1)], take.rate_hz);
        return take;
    }

    DeviceInfo recorder_;
    std::optional<DeviceInfo> player_;
    DeviceInfo info_;  // of both together
};

}  // namespace

std::unique_ptr<Device> portaudio_device(DeviceInfo recorder, std::optional<DeviceInfo> player) {
    return std::make_unique<PortAudioDevice>(std::move(recorder), std::move(player));
}

}  // namespace proofwalk::capture
