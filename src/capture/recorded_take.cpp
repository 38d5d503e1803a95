#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "capture/damage.hpp"
#include "capture/takes_file.hpp"
#include "units/sha256.hpp"

namespace proofwalk::capture {
namespace {

constexpr std::size_t most_recording_bytes = most_samples * 4 + (std::size_t{1} << 20);

class Verifier {
public:
    Verifier(const TakesFile::Entry& entry, Recording& recording) : entry_(entry), recording_(recording) {}

    [[nodiscard]] Result<void> check() {
        if (auto fault = too_few_channels()) return std::unexpected(std::move(*fault));
        if (auto fault = silent_throughout()) return std::unexpected(std::move(*fault));
        const TakeSheet& sheet = entry_.sheet;
        if (sheet.reference) note_clipping(*sheet.reference, "reference");
        for (const MicChannel& mic : sheet.mics) {
            note_zeros(mic);
            note_clipping(mic.channel, "mic " + mic.mic);
        }
        return {};
    }

private:
    [[nodiscard]] Fault fault(int channel, std::string reason, std::string remedy) const {
        std::string place = "take " + entry_.sheet.label;
        if (channel > 0) place += fmt::format(", channel {}", channel);
        return {FaultKind::input, entry_.recording.string(), std::move(place), std::move(reason), std::move(remedy)};
    }

    [[nodiscard]] std::span<const float> samples(int channel) const {
        return recording_.channels[static_cast<std::size_t>(channel - 1)];
    }

    [[nodiscard]] std::optional<Fault> too_few_channels() const {
        const auto there = static_cast<int>(recording_.channels.size());
        const auto missing = [&](int channel, std::string_view what) {
            return fault(channel, fmt::format("the {} is said to be here, but the recording has {} channel{}", what, there,
                                              there == 1 ? "" : "s"),
                         "correct the channel numbers or the file name");
        };
        const TakeSheet& sheet = entry_.sheet;
        if (sheet.reference && *sheet.reference > there) return missing(*sheet.reference, "reference");
        for (const MicChannel& mic : sheet.mics)
            if (mic.channel > there) return missing(mic.channel, "mic " + mic.mic);
        return std::nullopt;
    }

    [[nodiscard]] std::optional<Fault> silent_throughout() const {
        const TakeSheet& sheet = entry_.sheet;
        if (sheet.reference && !entry_.signal && all_zeros(samples(*sheet.reference)))
            return fault(*sheet.reference, "the reference is all zeros",
                         "check the loopback's cable and channel, then take it again");
        const bool silent = !sheet.mics.empty() && std::all_of(sheet.mics.begin(), sheet.mics.end(), [&](const MicChannel& mic) {
            return all_zeros(samples(mic.channel));
        });
        if (!silent) return std::nullopt;
        return fault(sheet.mics.front().channel,
                     sheet.mics.size() == 1 ? "the mic is all zeros" : "this mic and every other one of the take is all zeros",
                     "check that the inputs were recorded, then take it again");
    }

    void note_zeros(const MicChannel& mic) {
        if (!all_zeros(samples(mic.channel))) return;
        recording_.channel_faults.push_back(
            fault(mic.channel, fmt::format("mic {} is all zeros", mic.mic), "check its cable and input; its readings do not count"));
    }

    void note_clipping(int channel, const std::string& what) {
        const auto at = first_clipping(samples(channel));
        if (!at) return;
        recording_.channel_faults.push_back(fault(channel, fmt::format("the {} is clipped, first at {:.3f} s", what,
                                                                       static_cast<double>(*at) / recording_.rate_hz),
                                                  "lower its gain and take it again; its readings do not count"));
    }

    const TakesFile::Entry& entry_;
    Recording& recording_;
};

Result<std::vector<float>> played_signal(const std::filesystem::path& file, double rate_hz, const TakesFile::Entry& entry) {
    const auto refuse = [&](std::string reason, std::string remedy) {
        return std::unexpected(Fault{FaultKind::input, file.string(), "signal of take " + entry.sheet.label, std::move(reason),
                                     std::move(remedy)});
    };
    auto audio = read_audio(file);
    if (!audio) return refuse(audio.error().reason, audio.error().remedy);
    if (audio->channels.size() != 1)
        return refuse(fmt::format("has {} channels where one is wanted", audio->channels.size()), "save the signal as a mono file");
    if (audio->rate_hz != rate_hz)
        return refuse(fmt::format("has a sample rate of {} Hz, the recording {} has {} Hz", audio->rate_hz,
                                  entry.recording.filename().string(), rate_hz),
                      "give the signal at the recording's rate");
    if (all_zeros(audio->channels.front())) return refuse("is all zeros", "name the file that was played");
    return std::move(audio->channels.front());
}

}  // namespace

Result<Recording> record_of(const TakesFile&, const TakesFile::Entry& entry) {
    const auto in_take = [&](Fault fault) {
        fault.place = "take " + entry.sheet.label + (fault.place.empty() ? "" : ", " + fault.place);
        return std::unexpected(std::move(fault));
    };
    const auto bytes = read_file(entry.recording, most_recording_bytes);
    if (!bytes) return in_take(bytes.error());
    auto audio = audio_from_bytes(*bytes, entry.recording);
    if (!audio) return in_take(audio.error());

    Recording recording;
    recording.sheet = entry.sheet;
    recording.rate_hz = audio->rate_hz;
    recording.channels = std::move(audio->channels);
    recording.device = "recorded";
    recording.sha256 = sha256(*bytes);
    recording.source = entry.recording;
    if (entry.signal) {
        auto played = played_signal(*entry.signal, recording.rate_hz, entry);
        if (!played) return std::unexpected(played.error());
        recording.played = std::move(*played);
    }
    if (auto checked = Verifier(entry, recording).check(); !checked) return std::unexpected(checked.error());
    return recording;
}

}  // namespace proofwalk::capture
