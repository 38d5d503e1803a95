#include "capture/preference.hpp"

#include <toml++/toml.h>

#include <cstdlib>
#include <fstream>
#include <system_error>

#include "capture/audio_file.hpp"

namespace proofwalk::capture {
namespace {

constexpr std::size_t most_bytes = 64 * 1024;

Fault unusable(const std::filesystem::path& file, std::string reason) {
    return {FaultKind::input, file.string(), "", std::move(reason), "choose the device again; the file is then written anew"};
}

}  // namespace

std::filesystem::path preference_file() {
    // A path that is not absolute is to be ignored, says the specification.
    const char* config = std::getenv("XDG_CONFIG_HOME");
    if (config && std::filesystem::path(config).is_absolute()) return std::filesystem::path(config) / "proofwalk" / "device.toml";
    const char* home = std::getenv("HOME");
    if (!home || !*home) return {};
    return std::filesystem::path(home) / ".config" / "proofwalk" / "device.toml";
}

Result<std::optional<DevicePreference>> load_preference(const std::filesystem::path& file) {
    std::error_code error;
    if (file.empty() || !std::filesystem::exists(file, error)) return std::nullopt;
    const auto text = read_file(file, most_bytes);
    if (!text) return std::unexpected(text.error());
    toml::table table;
    try {
        table = toml::parse(*text, file.string());
    } catch (const toml::parse_error&) {
        return std::unexpected(unusable(file, "this is not TOML"));
    }
    DevicePreference preference;
    const auto device = table["device"].value_exact<std::string>();
    preference.rate_hz = table["rate_hz"].value_or(preference.rate_hz);
    preference.reference = table["reference"].value_or(preference.reference);
    const bool sound = device && !device->empty() && preference.rate_hz >= 44100.0 && preference.rate_hz <= 192000.0 && preference.reference >= 1;
    if (!sound) return std::unexpected(unusable(file, "it names no device that could be used"));
    preference.device = *device;
    return preference;
}

Result<void> save_preference(const DevicePreference& preference, const std::filesystem::path& file) {
    const auto unwritable = [&](const std::string& why) {
        return std::unexpected(Fault{FaultKind::input, file.string(), "", "the chosen device cannot be remembered: " + why,
                                     "check the folder; the walk goes on without"});
    };
    if (file.empty()) return unwritable("there is no home directory");
    std::error_code error;
    std::filesystem::create_directories(file.parent_path(), error);
    if (error) return unwritable(error.message());
    std::filesystem::path unfinished = file;
    unfinished += ".part";
    {
        std::ofstream stream(unfinished, std::ios::binary);
        stream << toml::table{{"device", preference.device}, {"rate_hz", preference.rate_hz}, {"reference", preference.reference}} << '\n';
        if (!stream.flush()) return unwritable("writing failed");
    }
    std::filesystem::rename(unfinished, file, error);
    if (error) return unwritable(error.message());
    return {};
}

}  // namespace proofwalk::capture
