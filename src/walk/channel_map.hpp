// Which channel carries what in this show: the loopback, each mic, each circuit. Kept as a gear record of the log, so that the next
// take, here or on another day, starts with the same channels.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "capture/recording.hpp"
#include "walk/show.hpp"

namespace proofwalk::walk {

struct CircuitOutput {
    std::string circuit;
    int output = 0;  // playback channel, from 1
    friend bool operator==(const CircuitOutput&, const CircuitOutput&) = default;
};

struct ChannelMap {
    int reference = 1;                      // capture channel with the loopback, from 1
    std::optional<int> loopback_output;     // playback channel wired to it, where that is none of the circuits'
    std::vector<capture::MicChannel> mics;  // as they stood at the last take
    std::vector<CircuitOutput> outputs;
};

// "reference 1; loopback 8; mics 2=p1:m1 3=p2:m2; outputs M1=1 M2=2". Names are percent-encoded where they hold a sign of this form.
[[nodiscard]] std::string to_text(const ChannelMap& map);
// Nothing when it is not of that form.
[[nodiscard]] std::optional<ChannelMap> channel_map_from_text(std::string_view text);

// The newest map of the log; nothing when there is none yet.
[[nodiscard]] Result<std::optional<ChannelMap>> kept_channels(const Show& show);
// Outputs of circuits that `map` does not name stay as they were. An unchanged map adds no record.
[[nodiscard]] Result<void> keep_channels(Show& show, ChannelMap map, const log::Origin& origin);

// The playback channel of a circuit: as kept, else as planned; nothing when neither says.
[[nodiscard]] std::optional<int> output_of(const plan::Plan& plan, const std::optional<ChannelMap>& kept, const std::string& circuit);

}  // namespace proofwalk::walk
