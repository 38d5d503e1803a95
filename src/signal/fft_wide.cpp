// Built with AVX2 and FMA where the compiler knows them; called only when the processor has both.
#include "signal/fft_lanes.hpp"

namespace proofwalk::signal::lanes {

#include "signal/fft_lanes.ipp"

const Functions wide = {whole_transform, whole_split, whole_join, whole_spread, whole_interleave, whole_multiply, whole_accumulate};

}  // namespace proofwalk::signal::lanes
