// Several circuits in one take: each on an output of its own, their sweeps overlapping in time. What comes out is one record with
// evidence of each circuit as if it had sounded alone.
#pragma once

#include <string>
#include <vector>

#include "walk/channel_map.hpp"
#include "walk/live_take.hpp"

namespace proofwalk::walk {

inline constexpr std::size_t most_overlapped = 32;

struct OverlapPlan {
    std::vector<CircuitOutput> circuits;  // in the order in which they start
    std::vector<double> starts_s;         // of each sweep, after the first one's
    double sweep_s = 0.0;
    double seconds = 0.0;                 // of the take, with what stands before and after the sweeps
    std::vector<std::string> left_out;    // of the circuits asked for: another range, for one sweep feeds all
};

// Starts so that no response and no harmonic up to the third falls into another's first decay_s seconds (signal/overlap.hpp).
// Faults: no circuit, two on one output, a schedule that is too long.
[[nodiscard]] Result<OverlapPlan> overlap_of(const plan::Plan& plan, const std::vector<CircuitOutput>& circuits, const Drive& drive,
                                             double decay_s = 0.8);

// `common` gives mics, reference, drive and arming; its circuit and output are not used. Each circuit climbs on its own first; all then
// play at the level of the lowest one allowed.
[[nodiscard]] Result<StoredTake> take_overlapped(Show& show, capture::Device& device, const LiveTake& common, const OverlapPlan& overlap,
                                                 const std::function<void(const capture::Progress&)>& progress, const std::atomic<bool>& stop);

}  // namespace proofwalk::walk
