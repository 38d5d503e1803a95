// From one box to one mic: every path with its spreading, directivity, air and bounces, and the reverberation behind them,
// as one impulse response. The box's own response is not in it. docs/rehearsal.md, "From box to mic".
#pragma once

#include <vector>

#include "rehearsal/hall.hpp"
#include "rehearsal/horn.hpp"
#include "rehearsal/keyed_random.hpp"
#include "rehearsal/room_air.hpp"
#include "signal/fft.hpp"

namespace proofwalk::rehearsal {

class Coupling {
public:
    Coupling(const Hall& hall, const RoomAir& air, double rate_hz);

    // Samples from the moment at which the signal leaves the tool; `delay_s` is what box, processing and drive add to
    // the travel. Cut off at `most` samples.
    [[nodiscard]] std::vector<float> impulse(const acoustics::Pose& box, const Horn& horn, Vec3 mic, double delay_s,
                                             KeyedRandom reverberation, double directivity_factor, std::size_t most);

private:
    void add_path(const Path& path, const acoustics::Pose& box, const Horn& horn, double delay_s, std::vector<float>& impulse);
    void add_reverberation(double emitted_s, double arrived_s, KeyedRandom& random, double directivity_factor,
                           std::vector<float>& impulse) const;

    const Hall& hall_;
    const RoomAir& air_;
    double rate_hz_;
    signal::RealFft fft_;
    std::vector<float> cepstrum_, time_;
    signal::Spectrum spectrum_;
};

// Molloy's directivity factor of a pattern with these coverage angles; 1 for omni.
[[nodiscard]] double directivity_factor(const plan::Model& model);

}  // namespace proofwalk::rehearsal
