// Conversions between units, each stated once. Quantities carry their unit in their name: arrival_s, pan_deg,
// gain_db, range_hz. Levels: 20 lg of an amplitude ratio, 10 lg of a power ratio.
#pragma once

#include <cmath>
#include <numbers>

namespace proofwalk {

[[nodiscard]] constexpr double radians(double degrees) { return degrees * std::numbers::pi / 180.0; }
[[nodiscard]] constexpr double degrees(double radians) { return radians * 180.0 / std::numbers::pi; }

// An angle in degrees brought into -180 (excluded) .. +180 (included).
[[nodiscard]] inline double wrapped_deg(double angle_deg) {
    const double wrapped = std::remainder(angle_deg, 360.0);
    return wrapped == -180.0 ? 180.0 : wrapped;
}

[[nodiscard]] inline double amplitude_db(double ratio) { return 20.0 * std::log10(ratio); }
[[nodiscard]] inline double power_db(double ratio) { return 10.0 * std::log10(ratio); }
[[nodiscard]] inline double amplitude_of_db(double level_db) { return std::pow(10.0, level_db / 20.0); }
[[nodiscard]] inline double power_of_db(double level_db) { return std::pow(10.0, level_db / 10.0); }

inline constexpr double kelvin_at_zero_celsius = 273.15;
inline constexpr double metres_per_foot = 0.3048;   // exact since 1959, international foot
inline constexpr double metres_per_inch = 0.0254;
inline constexpr double reference_pressure_pa = 20e-6;  // 0 dB SPL, ISO 1683

}  // namespace proofwalk
