// What every mic of a show hears, as evidence: impulse responses made from geometry (image sources to second order, floor
// first), the horns' patterns, air, a diffuse tail, mics that stand a little off and differ a little, and noise.
// The recording and deconvolution are left out: an impulse response with its share of noise is what they would give.
#pragma once

#include <vector>

#include "trials/show.hpp"
#include "verify/judge.hpp"

namespace proofwalk::trials {

// Every circuit at every position of the plan, with its mic, read as a walk would read it.
[[nodiscard]] std::vector<verify::TakenReading> walk(const Show& show);

// The true deviations of the checks follow from these. Level of a box as built in a band on its axis, its gain apart, in dB
// re its model's: drivers and ripple of the unit are part of what is heard.
[[nodiscard]] double true_voice_db(const Show& show, std::size_t box, plan::Band band);
[[nodiscard]] double true_loss_db(const Show& show, std::size_t box, const acoustics::Pose& pose, Vec3 at);

}  // namespace proofwalk::trials
