#include "capture/stream_damage.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <future>
#include <optional>
#include <span>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "capture/damage.hpp"
#include "capture/likeness.hpp"

namespace proofwalk::capture {
namespace {

constexpr std::size_t shortest_gap = 48;  // a millisecond at 48 kHz; the shortest block of usual devices is 32 samples

struct Stretch {
    std::size_t first = 0, end = 0;
};

std::optional<Stretch> sounding(std::span<const float> samples) {
    const auto is_sound = [](float sample) { return sample != 0.0f; };
    const auto first = std::find_if(samples.begin(), samples.end(), is_sound);
    if (first == samples.end()) return std::nullopt;
    const auto last = std::find_if(samples.rbegin(), samples.rend(), is_sound);
    return Stretch{static_cast<std::size_t>(first - samples.begin()), static_cast<std::size_t>(samples.rend() - last)};
}

class Inspector {
public:
    Inspector(Recording& recording, std::size_t wanted, const ReferenceProbe* ready)
        : recording_(recording), wanted_(wanted), signal_(signal_at_reference(recording)), ready_(ready) {}

    void inspect() {
        const TakeSheet& sheet = recording_.sheet;
        if (recording_.channels.empty()) return;
        if (recording_.channels.front().size() < wanted_)
            note(0, fmt::format("{} of {} samples were captured", recording_.channels.front().size(), wanted_));
        const auto loud = expected();
        if (sheet.reference && loud) {
            inspect_channel(*sheet.reference, "reference", *loud);
            // Of a take that was cut short too little may be left to know the reference by.
            if (recording_.channels.front().size() >= wanted_) inspect_reference(*sheet.reference);
        }
        for (const MicChannel& mic : sheet.mics) {
            // Without a signal every sample of a mic counts: a room and a converter are never that quiet.
            const auto all = Stretch{0, recording_.channels.front().size()};
            inspect_channel(mic.channel, "mic " + mic.mic, loud.value_or(all));
        }
    }

private:
    // Where the played signal must be heard: its own extent, moved to where the reference begins.
    [[nodiscard]] std::optional<Stretch> expected() {
        const auto played = sounding(signal_);
        if (!played || !recording_.sheet.reference) return std::nullopt;
        const auto heard = sounding(channel(*recording_.sheet.reference));
        if (!heard) {
            fault(*recording_.sheet.reference, "the reference is all zeros", "check the loopback's cable and channel, then take it again");
            return std::nullopt;
        }
        const std::size_t end = heard->first + (played->end - played->first);
        return Stretch{heard->first, std::min(end, wanted_)};
    }

    // A block that is missing without a trace moves everything after it; a mic in the place of the reference is no reference.
    void inspect_reference(int number) {
        const std::size_t length = channel(number).size();
        const bool usable = ready_ != nullptr && recording_.sheet.starts.size() < 2 && length <= ready_->channel_length();
        const auto check = usable ? ready_->check(recording_) : ReferenceProbe(signal_, length).check(recording_);
        if (check.state == ReferenceState::swapped)
            return fault(number, fmt::format("this is said to be the reference, but channel {} carries what was played", *check.looks_like_reference),
                         "swap the channel numbers or the cables, then take it again");
        if (check.state == ReferenceState::missing)
            return fault(number, "the reference does not carry what was played", "check the loopback's cable and channel, then take it again");
        if (check.moved_s && !recording_.lost_samples)
            note(number, fmt::format("the second half of the signal comes {:.1f} ms too {}: samples were {}", 1000.0 * std::fabs(*check.moved_s),
                                     *check.moved_s < 0.0 ? "early" : "late", *check.moved_s < 0.0 ? "lost" : "added"));
    }

    [[nodiscard]] std::span<const float> channel(int number) const {
        return recording_.channels[static_cast<std::size_t>(number - 1)];
    }

    void inspect_channel(int number, const std::string& what, Stretch loud) {
        const auto samples = channel(number);
        const std::size_t end = std::min(loud.end, samples.size());
        if (loud.first >= end) return;
        // A circuit that does not sound in a room without any noise gives zeros throughout: no gap.
        const auto gap = longest_gap(samples.first(end), shortest_gap);
        if (!gap || gap->first + gap->length <= loud.first) return;
        note(number, fmt::format("the {} has {:.1f} ms of exact zeros at {:.3f} s: samples were lost", what,
                                 1000.0 * static_cast<double>(gap->length) / recording_.rate_hz,
                                 static_cast<double>(gap->first) / recording_.rate_hz));
    }

    void note(int number, std::string reason) {
        recording_.lost_samples = true;
        fault(number, std::move(reason), "take it again");
    }

    void fault(int number, std::string reason, std::string remedy) {
        std::string place = "take " + recording_.sheet.label;
        if (number > 0) place += fmt::format(", channel {}", number);
        recording_.channel_faults.push_back(
            {FaultKind::device, "", std::move(place), std::move(reason), std::move(remedy)});
    }

    Recording& recording_;
    std::size_t wanted_;
    std::vector<float> signal_;  // what the reference is to carry
    const ReferenceProbe* ready_;
};

}  // namespace

void mark_damage(Recording& recording, std::size_t wanted) { Inspector(recording, wanted, nullptr).inspect(); }

void complete(Recording& recording, std::size_t wanted, const ReferenceProbe* ready) {
    auto hash = std::async(std::launch::async, raw_sha256, recording.rate_hz, std::cref(recording.channels));
    Inspector(recording, wanted, ready).inspect();
    recording.sha256 = hash.get();
}

}  // namespace proofwalk::capture
