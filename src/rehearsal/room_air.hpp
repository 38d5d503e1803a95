// The air of the simulated room, worked out apart from the measuring side: speed of sound of moist air as an ideal gas
// mixture, absorption after ISO 9613-1:1993. docs/rehearsal.md, "Air".
#pragma once

#include "acoustics/air.hpp"

namespace proofwalk::rehearsal {

class RoomAir {
public:
    explicit RoomAir(const acoustics::Air& air);

    [[nodiscard]] double speed_mps() const { return speed_mps_; }
    [[nodiscard]] double absorption_db_per_m(double frequency_hz) const;

private:
    double kelvin_, pressure_ratio_, oxygen_hz_, nitrogen_hz_, speed_mps_;
};

}  // namespace proofwalk::rehearsal
