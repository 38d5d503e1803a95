#include "acoustics/air.hpp"

#include <algorithm>
#include <cmath>

#include "units/convert.hpp"

namespace proofwalk::acoustics {
namespace {

// Range of Cramer's polynomial.
constexpr double lowest_c = 0.0, highest_c = 30.0;
constexpr double lowest_pa = 75e3, highest_pa = 102e3;
constexpr double most_vapour = 0.06;
constexpr double carbon_dioxide = 4e-4;  // mole fraction of today's air

// Standard uncertainty in parts of c. The paper states "less than 300 ppm": a limit, so divided by sqrt(3).
const double formula_u = 300e-6 / std::sqrt(3.0);
constexpr double outside_u_per_kelvin = 50e-6;  // judgement: three times the slope difference of the two forms at 30 C
constexpr double outside_u_per_kpa = 20e-6;     // judgement: c hardly depends on pressure

// Mole fraction of water vapour (Davis 1992 constants, as Cramer uses them).
double vapour_fraction(double temperature_c, double humidity_pct, double pressure_pa) {
    const double kelvin = temperature_c + kelvin_at_zero_celsius;
    const double enhancement = 1.00062 + 3.14e-8 * pressure_pa + 5.6e-7 * temperature_c * temperature_c;
    const double saturation_pa = std::exp(1.2378847e-5 * kelvin * kelvin - 1.9121316e-2 * kelvin + 33.93711047 -
                                          6343.1645 / kelvin);
    return humidity_pct / 100.0 * enhancement * saturation_pa / pressure_pa;
}

double cramer(double t, double vapour, double p) {
    const double xc = carbon_dioxide;
    return 331.5024 + 0.603055 * t - 0.000528 * t * t + (51.471935 + 0.1495874 * t - 0.000782 * t * t) * vapour +
           (-1.82e-7 + 3.73e-8 * t - 2.93e-10 * t * t) * p + (-85.20931 - 0.228525 * t + 5.91e-5 * t * t) * xc -
           2.835149 * vapour * vapour - 2.15e-13 * p * p + 29.179762 * xc * xc + 0.000486 * vapour * p * xc;
}

}  // namespace

Measured speed_of_sound(const Air& air) {
    const double pressure_pa = air.pressure_kpa * 1000.0;
    const double t = std::clamp(air.temperature_c, lowest_c, highest_c);
    const double p = std::clamp(pressure_pa, lowest_pa, highest_pa);
    const double vapour =
        std::min(vapour_fraction(air.temperature_c, air.humidity_pct, pressure_pa), most_vapour);
    // Outside 0..30 C the temperature form of ISO 9613-1, c ~ sqrt(T), carries on from the edge; inside the factor is 1.
    const double carried_on =
        std::sqrt((air.temperature_c + kelvin_at_zero_celsius) / (t + kelvin_at_zero_celsius));
    const double speed = cramer(t, vapour, p) * carried_on;
    const double outside = outside_u_per_kelvin * std::abs(air.temperature_c - t) +
                           outside_u_per_kpa * std::abs(pressure_pa - p) / 1000.0;
    return {speed, speed * std::hypot(formula_u, outside)};
}

double speed_u_from_temperature(const Air& air, double temperature_u_c) {
    return speed_of_sound(air).value / (2.0 * (air.temperature_c + kelvin_at_zero_celsius)) * temperature_u_c;
}

double absorption_db_per_m(const Air& air, double frequency_hz) {
    constexpr double reference_kpa = 101.325, triple_point_k = 273.16, reference_k = 293.15;
    const double kelvin = air.temperature_c + kelvin_at_zero_celsius;
    const double pressure = air.pressure_kpa / reference_kpa;
    const double warmth = kelvin / reference_k;
    const double saturation = std::pow(10.0, -6.8346 * std::pow(triple_point_k / kelvin, 1.261) + 4.6151);
    const double vapour_pct = air.humidity_pct * saturation / pressure;
    const double oxygen_hz = pressure * (24.0 + 4.04e4 * vapour_pct * (0.02 + vapour_pct) / (0.391 + vapour_pct));
    const double nitrogen_hz =
        pressure / std::sqrt(warmth) * (9.0 + 280.0 * vapour_pct * std::exp(-4.170 * (std::cbrt(1.0 / warmth) - 1.0)));
    const double f2 = frequency_hz * frequency_hz;
    const double relaxation = 0.01275 * std::exp(-2239.1 / kelvin) / (oxygen_hz + f2 / oxygen_hz) +
                              0.1068 * std::exp(-3352.0 / kelvin) / (nitrogen_hz + f2 / nitrogen_hz);
    return 8.686 * f2 * (1.84e-11 / pressure * std::sqrt(warmth) + std::pow(warmth, -2.5) * relaxation);
}

}  // namespace proofwalk::acoustics
