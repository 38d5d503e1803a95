// The child process: the only place that calls PortAudio. On any sign of loss it leaves at once without another call to it,
// because closing a stream on a dead server hangs.
#include <dlfcn.h>
#include <poll.h>
#include <portaudio.h>
#include <signal.h>
#include <sys/prctl.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <optional>
#include <string>
#include <string_view>

#include <fmt/format.h>

#include "capture/child_process.hpp"
#include "capture/device.hpp"
#include "capture/shared_stream.hpp"
#include "capture/stream_block.hpp"

namespace proofwalk::capture {
namespace {

using Clock = std::chrono::steady_clock;
constexpr auto silence_means_lost = std::chrono::seconds(1);
constexpr auto longest_start = std::chrono::seconds(4);
constexpr unsigned longest_closing_s = 2;

void say(StreamControl& control, Phase phase, std::string_view message) {
    put_text(control.message, message);
    control.phase.store(phase, std::memory_order_release);
}

// The audio system is broken: no further call to it.
[[noreturn]] void lose(StreamControl& control, std::string_view message) {
    say(control, Phase::lost, message);
    _exit(0);
}

// The audio system is well: its server would stumble over a client that vanished. A hang while closing harms nobody, since
// what was asked for is handed over.
[[noreturn]] void leave() {
    alarm(longest_closing_s);
    Pa_Terminate();
    _exit(0);
}

[[noreturn]] void refuse(StreamControl& control, PaError error) {
    std::string text = Pa_GetErrorText(error);
    if (error == paUnanticipatedHostError)
        if (const auto* host = Pa_GetLastHostErrorInfo(); host && host->errorText && *host->errorText) text = host->errorText;
    switch (error) {
        case paInvalidChannelCount: text = "it does not have that many channels"; break;
        case paInvalidSampleRate: text = fmt::format("it does not run at {} Hz", control.rate_hz); break;
        case paDeviceUnavailable: text = "it is in use by another program or was unplugged"; break;
        default: break;
    }
    say(control, Phase::refused, text);
    leave();
}

// Each process is a client of its own on the JACK server. The function is looked up because PortAudio may be built without JACK.
void name_ourselves() {
    static const std::string name = fmt::format("proofwalk-{}", getpid());
    using SetName = PaError (*)(const char*);
    if (auto* set_name = reinterpret_cast<SetName>(dlsym(RTLD_DEFAULT, "PaJack_SetClientName"))) set_name(name.c_str());
}

std::string_view host_name(const PaDeviceInfo& info) {
    const auto* host = Pa_GetHostApiInfo(info.hostApi);
    std::string_view name = host ? host->name : "";
    return name.starts_with("JACK") ? "JACK" : name;
}

// "USB Audio: - (hw:1,0)" without the card's number, which changes with the order of plugging in.
std::string stable_name(std::string_view name) {
    if (const auto at = name.rfind(" (hw:"); at != std::string_view::npos) name = name.substr(0, at);
    while (!name.empty() && (name.back() == ' ' || name.back() == '-' || name.back() == ':')) name.remove_suffix(1);
    return std::string(name);
}

std::optional<PaDeviceIndex> find(std::string_view name, std::string_view host) {
    for (PaDeviceIndex i = 0; i < Pa_GetDeviceCount(); ++i)
        if (const auto* info = Pa_GetDeviceInfo(i); info && stable_name(info->name) == name && host_name(*info) == host) return i;
    return std::nullopt;
}

void list(StreamControl& control) {
    std::uint32_t count = 0;
    for (PaDeviceIndex i = 0; i < Pa_GetDeviceCount() && count < most_listed_devices; ++i) {
        const auto* info = Pa_GetDeviceInfo(i);
        if (!info) continue;
        ListedDevice& device = control.devices[count++];
        put_text(device.name, stable_name(info->name));
        put_text(device.host_system, host_name(*info));
        device.inputs = static_cast<std::uint32_t>(std::max(info->maxInputChannels, 0));
        device.outputs = static_cast<std::uint32_t>(std::max(info->maxOutputChannels, 0));
        device.rate_hz = info->defaultSampleRate;
    }
    control.device_count = count;
}

void count_flags(StreamBlock& block, PaStreamCallbackFlags flags) {
    if (flags & (paInputOverflow | paInputUnderflow)) block.count_overflow();
    if (flags & (paOutputUnderflow | paOutputOverflow)) block.count_underflow();
}

int on_both(const void* input, void* output, unsigned long frames, const PaStreamCallbackTimeInfo*, PaStreamCallbackFlags flags,
            void* user) {
    auto* block = static_cast<StreamBlock*>(user);
    count_flags(*block, flags);
    const bool over = block->both(static_cast<const float* const*>(input), static_cast<float* const*>(output), frames);
    return over ? paComplete : paContinue;
}

int on_capture(const void* input, void*, unsigned long frames, const PaStreamCallbackTimeInfo*, PaStreamCallbackFlags flags, void* user) {
    auto* block = static_cast<StreamBlock*>(user);
    count_flags(*block, flags);
    return block->capture(static_cast<const float* const*>(input), frames) ? paComplete : paContinue;
}

int on_play(const void*, void* output, unsigned long frames, const PaStreamCallbackTimeInfo*, PaStreamCallbackFlags flags, void* user) {
    auto* block = static_cast<StreamBlock*>(user);
    count_flags(*block, flags);
    return block->play(static_cast<float* const*>(output), frames) ? paComplete : paContinue;
}

class Stream {
public:
    Stream(StreamControl& control, StreamBlock& block) : control_(control), block_(block) {}

    void open(std::optional<PaDeviceIndex> recorder, std::optional<PaDeviceIndex> player, PaStreamCallback* callback) {
        PaStreamParameters in{}, out{};
        if (recorder) in = parameters(*recorder, control_.inputs, Pa_GetDeviceInfo(*recorder)->defaultHighInputLatency);
        if (player) out = parameters(*player, control_.outputs, Pa_GetDeviceInfo(*player)->defaultHighOutputLatency);
        const PaError error = Pa_OpenStream(&stream_, recorder ? &in : nullptr, player ? &out : nullptr, control_.rate_hz,
                                            paFramesPerBufferUnspecified, paClipOff | paDitherOff, callback, &block_);
        if (error != paNoError) refuse(control_, error);
    }

    void start() {
        if (const PaError error = Pa_StartStream(stream_); error != paNoError) refuse(control_, error);
    }

    [[nodiscard]] bool active() const { return Pa_IsStreamActive(stream_) == 1; }
    void close() {
        Pa_StopStream(stream_);
        Pa_CloseStream(stream_);
    }

private:
    // A large buffer: delay is of no importance here, a lost block is.
    static PaStreamParameters parameters(PaDeviceIndex device, std::uint32_t channels, double latency_s) {
        return {device, static_cast<int>(channels), paFloat32 | paNonInterleaved, std::max(latency_s, 0.05), nullptr};
    }

    StreamControl& control_;
    StreamBlock& block_;
    PaStream* stream_ = nullptr;
};

bool over(Phase phase) { return phase == Phase::finished || phase == Phase::stopped; }

bool parent_is_gone() {
    pollfd life{child_life_descriptor, 0, 0};
    return poll(&life, 1, 10) > 0;
}

// Waits for the end of the stream; a loss ends the process here.
void watch(StreamControl& control, const Stream& stream, const Stream* player) {
    auto last_change = Clock::now();
    const auto started = last_change;
    std::uint64_t last_callbacks = 0;
    std::optional<Clock::time_point> alone_since;
    for (;;) {
        const bool alone = parent_is_gone();
        if (over(control.phase.load(std::memory_order_acquire))) return;
        const auto now = Clock::now();
        if (alone && !alone_since) {
            alone_since = now;
            control.stop.store(1, std::memory_order_release);
        }
        if (alone_since && now - *alone_since > silence_means_lost) _exit(0);
        const std::uint64_t callbacks = control.callbacks.load(std::memory_order_acquire);
        if (callbacks != last_callbacks) {
            last_callbacks = callbacks;
            last_change = now;
        }
        const bool begun = callbacks > 0;
        const bool both = stream.active() && (!player || player->active());
        if (begun && !both && !over(control.phase.load(std::memory_order_acquire)))
            lose(control, "the audio system ended the stream");
        if (begun && now - last_change > silence_means_lost) lose(control, "the device stopped delivering samples");
        if (!begun && now - started > longest_start) lose(control, "the device never delivered a sample");
    }
}

void run_on_one_device(StreamControl& control, StreamBlock& block, PaDeviceIndex device) {
    Stream stream(control, block);
    stream.open(device, control.outputs > 0 ? std::optional(device) : std::nullopt, on_both);
    stream.start();
    watch(control, stream, nullptr);
    stream.close();
}

// Recording begins before playing, so that nothing of the signal is missed.
void run_on_two_devices(StreamControl& control, StreamBlock& block, PaDeviceIndex recorder, PaDeviceIndex player) {
    Stream in(control, block), out(control, block);
    in.open(recorder, std::nullopt, on_capture);
    out.open(std::nullopt, player, on_play);
    in.start();
    out.start();
    watch(control, in, &out);
    in.close();
    out.close();
}

void run_stream(const SharedStream& shared) {
    StreamControl& control = shared.control();
    StreamBlock block(shared);
    const auto recorder = find(get_text(control.device), get_text(control.device_host));
    if (!recorder) return say(control, Phase::refused, "it is not there any more");
    const auto player_name = get_text(control.player);
    if (player_name.empty() || control.outputs == 0) return run_on_one_device(control, block, *recorder);
    const auto player = find(player_name, get_text(control.player_host));
    if (!player) return say(control, Phase::refused, fmt::format("{} is not there any more", player_name));
    run_on_two_devices(control, block, *recorder, *player);
}

}  // namespace

std::optional<int> run_as_capture_child(int argc, char** argv) {
    if (argc != 2 || argv[1] != child_argument) return std::nullopt;
    // Ctrl-C reaches every process of the terminal; the parent decides and asks for a fade.
    ::signal(SIGINT, SIG_IGN);
    ::signal(SIGHUP, SIG_IGN);
    ::signal(SIGPIPE, SIG_IGN);
    prctl(PR_SET_NAME, "proofwalk-audio");
    auto shared = SharedStream::attach(child_stream_descriptor);
    if (!shared) return 3;
    StreamControl& control = shared->control();
    name_ourselves();
    if (const PaError error = Pa_Initialize(); error != paNoError) refuse(control, error);
    if (control.job == Job::list) {
        list(control);
        control.phase.store(Phase::finished, std::memory_order_release);
    } else {
        run_stream(*shared);
    }
    leave();
}

}  // namespace proofwalk::capture
