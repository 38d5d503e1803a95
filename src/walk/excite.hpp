// The signal of a take: which one, how loud, in which band, with what before and after it.
#pragma once

#include <string>
#include <vector>

#include "plan/plan.hpp"
#include "signal/measure.hpp"
#include "units/fault.hpp"

namespace proofwalk::walk {

struct Drive {
    signal::TakeKind kind = signal::TakeKind::sweep;
    double rate_hz = 48000.0;
    double length_s = 4.0;
    double level_dbfs = -20.0;
    double before_s = 0.5;  // quiet before the signal: the noise of the take is read from it
    double after_s = 1.5;   // room and travel time after it
};

struct DrivenSignal {
    std::vector<float> samples;  // silence before, signal, silence after
    double start_s = 0.0;        // where the signal begins
    double whole_s = 0.0;
};

// The band follows the box: a sub gets no treble and a horn no bass.
[[nodiscard]] Result<DrivenSignal> drive_signal(const plan::Plan& plan, const std::string& circuit, const Drive& drive);

}  // namespace proofwalk::walk
