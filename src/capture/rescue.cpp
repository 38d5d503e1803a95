#include "capture/rescue.hpp"

#include <toml++/toml.h>

#include <algorithm>
#include <cctype>
#include <cstdlib>
#include <fstream>
#include <system_error>

#include "capture/audio_file.hpp"

namespace proofwalk::capture {
namespace {

std::string file_name(std::string label) {
    std::ranges::replace_if(label, [](unsigned char c) { return std::isalnum(c) == 0 && c != '-' && c != '_' && c != '+'; }, '_');
    return label.empty() ? "take" : label;
}

toml::table table_of(const Recording& recording, bool with_signal) {
    const TakeSheet& sheet = recording.sheet;
    toml::array sounding, mics;
    for (const auto& circuit : sheet.sounding) sounding.push_back(circuit);
    for (const auto& mic : sheet.mics) {
        toml::table entry{{"channel", mic.channel}, {"mic", mic.mic}};
        if (!mic.position.empty()) entry.insert("position", mic.position);
        entry.is_inline(true);
        mics.push_back(std::move(entry));
    }
    toml::table take{{"id", sheet.label}, {"file", "take.wav"}, {"kind", word(sheet.kind)}, {"sounding", std::move(sounding)}, {"mics", std::move(mics)}};
    if (!sheet.starts.empty()) {
        toml::array starts;
        for (const auto& start : sheet.starts) {
            toml::table entry{{"circuit", start.circuit}, {"at_s", start.at_s}};
            entry.is_inline(true);
            starts.push_back(std::move(entry));
        }
        take.insert("starts", std::move(starts));
    }
    if (sheet.calibrator_db) take.insert("level_db", *sheet.calibrator_db);
    if (with_signal)
        take.insert("signal", "played");
    else if (sheet.reference && sheet.kind != signal::TakeKind::silence && sheet.kind != signal::TakeKind::calibrator)
        take.insert("reference", *sheet.reference);
    return take;
}

toml::array mics_of(const Recording& recording, std::span<const Mic> known) {
    toml::array list;
    for (const auto& mic : recording.sheet.mics) {
        toml::table entry{{"id", mic.mic}};
        const auto own = std::ranges::find(known, mic.mic, &Mic::id);
        if (own != known.end()) {
            if (own->pascal_per_fs) entry.insert("pascal_per_fs", *own->pascal_per_fs);
            if (own->latency_s != 0.0) entry.insert("latency_ms", 1000.0 * own->latency_s);
            if (!own->serial.empty()) entry.insert("serial", own->serial);
        }
        list.push_back(std::move(entry));
    }
    return list;
}

}  // namespace

std::filesystem::path rescue_folder() {
    const char* state = std::getenv("XDG_STATE_HOME");
    if (state && std::filesystem::path(state).is_absolute()) return std::filesystem::path(state) / "proofwalk" / "rescued";
    const char* home = std::getenv("HOME");
    if (home && *home) return std::filesystem::path(home) / ".local" / "state" / "proofwalk" / "rescued";
    std::error_code error;
    return std::filesystem::temp_directory_path(error) / "proofwalk-rescued";
}

Result<std::filesystem::path> rescue(const Recording& recording, std::span<const Mic> mics, const std::filesystem::path& folder) {
    const std::filesystem::path own = folder / file_name(recording.sheet.label);
    const auto unwritable = [&](const std::string& why) {
        return std::unexpected(Fault{FaultKind::log, own.string(), "", "the recording cannot be put away: " + why, "free some space and take it again"});
    };
    std::error_code error;
    std::filesystem::create_directories(own, error);
    if (error) return unwritable(error.message());
    if (auto written = write_wav_float(own / "take.wav", {recording.rate_hz, recording.channels}); !written) return std::unexpected(written.error());
    const bool with_signal = recording.sheet.starts.size() > 1 && !recording.played.empty();
    toml::table file{{"format", "proofwalk.takes/1"}};
    file.insert("mic", mics_of(recording, mics));
    if (with_signal) {
        if (auto written = write_wav_float(own / "played.wav", {recording.rate_hz, {recording.played}}); !written) return std::unexpected(written.error());
        file.insert("signal", toml::array{toml::table{{"id", "played"}, {"file", "played.wav"}}});
    }
    file.insert("take", toml::array{table_of(recording, with_signal)});
    const std::filesystem::path takes = own / "takes.toml";
    std::ofstream stream(takes, std::ios::binary | std::ios::trunc);
    stream << file << '\n';
    if (!stream.flush()) return unwritable("writing failed");
    return takes;
}

}  // namespace proofwalk::capture
