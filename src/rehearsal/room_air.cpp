#include "rehearsal/room_air.hpp"

#include <cmath>

#include "units/convert.hpp"

namespace proofwalk::rehearsal {

RoomAir::RoomAir(const acoustics::Air& air)
    : kelvin_(air.temperature_c + kelvin_at_zero_celsius), pressure_ratio_(air.pressure_kpa / 101.325) {
    // ISO 9613-1, annex B: molar concentration of water vapour in percent.
    const double saturation = std::pow(10.0, 4.6151 - 6.8346 * std::pow(273.16 / kelvin_, 1.261));
    const double vapour_pct = air.humidity_pct * saturation / pressure_ratio_;
    const double relative = kelvin_ / 293.15;
    oxygen_hz_ = pressure_ratio_ * (24.0 + 4.04e4 * vapour_pct * (0.02 + vapour_pct) / (0.391 + vapour_pct));
    nitrogen_hz_ = pressure_ratio_ / std::sqrt(relative) *
                   (9.0 + 280.0 * vapour_pct * std::exp(-4.170 * (std::cbrt(1.0 / relative) - 1.0)));
    // Ideal mixture: c^2 = gamma R T / M. Molar heats at constant volume: 5/2 R for dry air (diatomic), 3.05 R for vapour
    // (near room temperature); molar masses in kg/mol.
    const double vapour = vapour_pct / 100.0;
    const double molar_mass = 0.0289647 * (1.0 - vapour) + 0.0180153 * vapour;
    const double molar_heat = 2.5 * (1.0 - vapour) + 3.05 * vapour;
    speed_mps_ = std::sqrt((molar_heat + 1.0) / molar_heat * 8.314463 * kelvin_ / molar_mass);
}

double RoomAir::absorption_db_per_m(double frequency_hz) const {
    const double squared = frequency_hz * frequency_hz;
    const double relative = kelvin_ / 293.15;
    const double classical = 1.84e-11 / pressure_ratio_ * std::sqrt(relative);
    const double oxygen = 0.01275 * std::exp(-2239.1 / kelvin_) / (oxygen_hz_ + squared / oxygen_hz_);
    const double nitrogen = 0.1068 * std::exp(-3352.0 / kelvin_) / (nitrogen_hz_ + squared / nitrogen_hz_);
    return 8.686 * squared * (classical + std::pow(relative, -2.5) * (oxygen + nitrogen));
}

}  // namespace proofwalk::rehearsal
