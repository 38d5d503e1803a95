// Air: speed of sound (Cramer, JASA 93, 2510, 1993) and absorption (ISO 9613-1:1993).
#pragma once

#include "units/measured.hpp"

namespace proofwalk::acoustics {

struct Air {
    double temperature_c = 20.0;
    double humidity_pct = 50.0;
    double pressure_kpa = 101.325;

    friend constexpr bool operator==(const Air&, const Air&) = default;
};

// m/s. Valid 0..30 C, 75..102 kPa (300 ppm); outside it is carried on with the temperature form of ISO 9613-1 without a
// step. u: what the formula itself is unsure of, growing outside its range.
[[nodiscard]] Measured speed_of_sound(const Air& air);

// Standard uncertainty of the speed of sound in m/s from the uncertainty of the air temperature along the path.
[[nodiscard]] double speed_u_from_temperature(const Air& air, double temperature_u_c);

// Pure-tone absorption, dB per metre.
[[nodiscard]] double absorption_db_per_m(const Air& air, double frequency_hz);

}  // namespace proofwalk::acoustics
