#include "capture/device_list.hpp"

#include <algorithm>
#include <cctype>
#include <chrono>
#include <mutex>
#include <string_view>
#include <vector>

#include "capture/child_process.hpp"
#include "units/nearest.hpp"

namespace proofwalk::capture {
namespace {

constexpr auto longest_listing = std::chrono::milliseconds(5000);  // a frozen audio system hangs its caller for ever
constexpr std::string_view between_two = " > ";
constexpr std::size_t most_chatter = 256 * 1024;

class Chatter {
public:
    void keep(const std::string& text) {
        const std::scoped_lock lock(mutex_);
        text_ += text;
        if (text_.size() > most_chatter) text_.erase(0, text_.size() - most_chatter);
    }
    [[nodiscard]] std::string text() const {
        const std::scoped_lock lock(mutex_);
        return text_;
    }

private:
    mutable std::mutex mutex_;
    std::string text_;
};

Chatter& chatter() {
    static Chatter kept;
    return kept;
}

std::string lower(std::string text) {
    std::transform(text.begin(), text.end(), text.begin(), [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
    return text;
}

// A name that two host systems use is told apart by the host system in front.
void make_names_unique(std::vector<DeviceInfo>& devices) {
    std::vector<std::string> plain;
    for (const auto& device : devices) plain.push_back(device.name);
    for (std::size_t i = 0; i < devices.size(); ++i)
        if (std::count(plain.begin(), plain.end(), plain[i]) > 1) devices[i].name = devices[i].host_system + ":" + plain[i];
}

std::string without_host(const DeviceInfo& device) {
    const std::string prefix = device.host_system + ":";
    return device.name.starts_with(prefix) ? device.name.substr(prefix.size()) : device.name;
}

Result<DeviceInfo> named(const std::vector<DeviceInfo>& devices, const std::string& name) {
    std::vector<std::string_view> names;
    for (const auto& device : devices) {
        const bool same = lower(device.name) == lower(name) || lower(device.host_system + ":" + without_host(device)) == lower(name);
        if (same) return device;
        names.push_back(device.name);
    }
    if (devices.empty())
        return std::unexpected(device_fault(name, "is not there: this machine has no audio device",
                                            "plug it in or start the audio server, then see: proofwalk devices"));
    return std::unexpected(device_fault(name, "is not there", nearest_remedy(name, names, "device")));
}

}  // namespace

Fault device_fault(const std::string& device, std::string reason, std::string remedy) {
    return {FaultKind::device, "", device.empty() ? "" : "device " + device, std::move(reason), std::move(remedy)};
}

void keep_chatter(const std::string& text) { chatter().keep(text); }
std::string device_chatter() { return chatter().text(); }

Result<std::vector<DeviceInfo>> list_devices() {
    auto stream = SharedStream::create(StreamControl{});
    if (!stream) return std::unexpected(stream.error());
    auto child = ChildProcess::start(*stream);
    if (!child) return std::unexpected(child.error());
    const bool answered = child->wait(longest_listing);
    child->end();
    keep_chatter(child->chatter());
    const StreamControl& control = stream->control();
    const Phase phase = control.phase.load(std::memory_order_acquire);
    if (phase == Phase::refused)
        return std::unexpected(
            device_fault("", "the audio system cannot be used: " + std::string(get_text(control.message)), "check that it runs"));
    if (phase != Phase::finished)
        return std::unexpected(device_fault("", answered ? "the audio system crashed while its devices were listed"
                                                         : "the audio system does not answer",
                                            "restart the audio server or unplug the device that hangs"));
    std::vector<DeviceInfo> devices;
    for (std::size_t i = 0; i < std::min<std::size_t>(control.device_count, most_listed_devices); ++i) {
        const ListedDevice& device = control.devices[i];
        devices.push_back({std::string(get_text(device.name)), std::string(get_text(device.host_system)),
                           static_cast<int>(device.inputs), static_cast<int>(device.outputs), device.rate_hz});
    }
    make_names_unique(devices);
    return devices;
}

Result<DevicePair> find_devices(const std::string& name) {
    const auto devices = list_devices();
    if (!devices) return std::unexpected(devices.error());
    const auto split = name.find(between_two);
    if (split == std::string::npos) {
        auto device = named(*devices, name);
        if (!device) return std::unexpected(device.error());
        return DevicePair{std::move(*device), std::nullopt};
    }
    auto player = named(*devices, name.substr(0, split));
    if (!player) return std::unexpected(player.error());
    auto recorder = named(*devices, name.substr(split + between_two.size()));
    if (!recorder) return std::unexpected(recorder.error());
    return DevicePair{std::move(*recorder), std::move(*player)};
}

Result<std::unique_ptr<Device>> open_device(const std::string& name) {
    auto pair = find_devices(name);
    if (!pair) return std::unexpected(pair.error());
    return portaudio_device(std::move(pair->recorder), std::move(pair->player));
}

void name_devices(StreamControl& control, const DeviceInfo& recorder, const std::optional<DeviceInfo>& player) {
    put_text(control.device, without_host(recorder));
    put_text(control.device_host, recorder.host_system);
    if (!player) return;
    put_text(control.player, without_host(*player));
    put_text(control.player_host, player->host_system);
}

}  // namespace proofwalk::capture
