// An impulse response on a grid far below its own noise, so that a log of it stays small. Done before anything is read
// from it: what is read later from the log is what was read then, to the bit.
#pragma once

#include "signal/evidence.hpp"

namespace proofwalk::log {

// The step is a power of two, at most a 32nd of the quietest part's standard deviation (rounding adds 0.001 dB to the
// noise there and lies 41 dB below it), and at least 2^-21 of the peak (-126 dB re the direct sound).
void round_impulse(signal::Evidence& evidence);

}  // namespace proofwalk::log
