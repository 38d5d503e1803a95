// Which circuits, outputs and inputs a take command means: as typed, else as the show's log keeps them, else as planned.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "plan/plan.hpp"
#include "walk/channel_map.hpp"

namespace proofwalk::cli {

struct TypedChannels {
    std::vector<std::string> circuits;   // as typed; empty: none
    std::vector<int> outputs;            // one for each circuit, or one for all
    std::optional<int> reference, loopback_output;
    std::string mics;                    // "2=p1,3=p4", "p1,p4", "2,3"; empty: none
};

struct TakeChannels {
    std::vector<walk::CircuitOutput> circuits;
    bool one_for_all = false;  // one output feeds several circuits: somebody unmutes by hand
    int reference = 1;
    std::optional<int> loopback_output;
    std::vector<capture::MicChannel> mics;
};

// Faults name the option: a circuit or position that the plan does not have, a circuit without an output, no mics.
[[nodiscard]] Result<TakeChannels> channels_of(const plan::Plan& plan, const std::optional<walk::ChannelMap>& kept, const TypedChannels& typed);

}  // namespace proofwalk::cli
