// Marks in a live take what the device did not report: blocks of exact zeros, a reference that fell silent, too few samples.
#pragma once

#include "capture/likeness.hpp"
#include "capture/recording.hpp"

namespace proofwalk::capture {

// `wanted` samples were asked for. Raises lost_samples and adds a channel fault for each kind of damage found.
void mark_damage(Recording& recording, std::size_t wanted);

// What can be told of a recording only once all its samples are there: its damage and its hash. `ready`: for the signal that was
// played, where it could be made meanwhile.
void complete(Recording& recording, std::size_t wanted, const ReferenceProbe* ready = nullptr);

}  // namespace proofwalk::capture
