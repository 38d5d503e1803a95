// Built for every processor of the target.
#include "signal/fft_lanes.hpp"

namespace proofwalk::signal::lanes {

#include "signal/fft_lanes.ipp"

const Functions portable = {whole_transform, whole_split, whole_join, whole_spread, whole_interleave, whole_multiply, whole_accumulate};

}  // namespace proofwalk::signal::lanes
