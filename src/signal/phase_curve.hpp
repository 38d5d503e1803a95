// Phase of what was heard, against frequency, with the delay of its arrival taken out.
//   means        the angle of the response at each frequency: 0 where it follows the reference at once, 180 where it is
//                inverted; above the frequency that the gate resolves the gated sound counts, below it the whole response
//   from         evidence (impulse response, noise density inside it) and its reading (arrival, gate, levels)
//   to           frequencies from 20 Hz to at most 20 kHz, two an n-th octave, base ten (IEC 61260-1:2014)
//   unit         degrees, wrapped into -180 (excluded) .. 180
//   smoothing    mean of the complex response over the n-th octave around the frequency, after the delay is out
//   uncertainty  standard, from the signal-to-noise ratio inside the gate: 1 / sqrt(2 r) rad at a power ratio r for each
//                independent piece of spectrum (small-noise limit of additive complex normal noise), divided by the root
//                of their number; at most 180 / sqrt(3), an angle that nobody knows. It leaves out the arrival's own
//                uncertainty u(t), which turns the whole curve by 360 f u(t), and reflections inside the gate
//   checked      a pure delay is 0, an inverted one 180, a first-order all-pass -2 atan(f / f0)
//   absent       without an arrival, without an impulse response or with a fraction below one the curve is empty
#pragma once

#include <vector>

#include "signal/evidence.hpp"

namespace proofwalk::signal {

struct PhaseCurve {
    std::vector<double> hz;
    std::vector<double> deg;
    std::vector<double> u_deg;
};
[[nodiscard]] PhaseCurve phase_curve(const Evidence& evidence, const Reading& reading, double fraction_of_octave);

}  // namespace proofwalk::signal
