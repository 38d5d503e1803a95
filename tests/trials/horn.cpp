#include "trials/horn.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "units/convert.hpp"

namespace proofwalk::trials {

Horn::Horn(const plan::Model& model, Dice& dice) : model_(model) {
    coverage_h_ = model.coverage_h_deg * (1.0 + 0.04 * dice.normal());
    coverage_v_ = model.coverage_v_deg * (1.0 + 0.04 * dice.normal());
    steep_h_ = dice.between(1.75, 2.5);
    steep_v_ = dice.between(1.75, 2.5);
    narrowing_ = dice.between(0.0, 0.12);
    asymmetry_deg_ = dice.spread(0.01 * coverage_v_);
    floor_db_ = dice.between(28.0, 34.0);
    for (double& phase : lobe_) phase = dice.between(0.0, 2.0 * std::numbers::pi);
}

double Horn::half_angle(double coverage_deg, double size_m, std::size_t band) const {
    const double hz = midband_hz(band), middle_hz = std::sqrt(model_.aim_band_hz.low_hz * model_.aim_band_hz.high_hz);
    const double control_hz = std::min(model_.aim_band_hz.low_hz, 2.54e4 / (coverage_deg * size_m));
    double half = 0.5 * coverage_deg * std::pow(hz / middle_hz, -narrowing_);
    if (hz < control_hz) half *= control_hz / hz;
    return half;
}

double Horn::loss_db(double h_deg, double v_deg, std::size_t band) const {
    if (model_.pattern == plan::Pattern::omni) return 0.0;
    const double h = std::abs(h_deg) / half_angle(coverage_h_, model_.size_m.x, band);
    const double v = std::abs(v_deg - asymmetry_deg_) / half_angle(coverage_v_, model_.size_m.y, band);
    const double fall = 6.0 * (std::pow(h, steep_h_) + std::pow(v, steep_v_)) +
                        0.2 * std::sin(4.0 * h + lobe_[0] + 0.4 * static_cast<double>(band)) * std::min(1.0, h) +
                        0.2 * std::sin(4.0 * v + lobe_[1] + 0.3 * static_cast<double>(band)) * std::min(1.0, v);
    // Bends softly into what the back of the box radiates.
    return -power_db(1.0 / (power_of_db(-fall) + power_of_db(-floor_db_))) + power_db(1.0 / (1.0 + power_of_db(-floor_db_)));
}

double Horn::loss_db(double h_deg, double v_deg, plan::Band range) const {
    const auto [first, last] = bands_inside(range.low_hz, range.high_hz);
    double power = 0.0;
    for (std::size_t band = first; band < last; ++band) power += power_of_db(loss_db(h_deg, v_deg, band));
    return power_db(power / static_cast<double>(last - first));
}

Voice::Voice(const plan::Model& model, std::uint64_t model_seed, Dice& unit, Drivers drivers)
    : range_(model.range_hz), two_way_(model.pattern == plan::Pattern::beam), drivers_(drivers) {
    Dice of_model(model_seed);
    crossover_hz_ = of_model.between(1100.0, 1900.0);
    const double top = std::log(range_.high_hz / range_.low_hz);
    for (std::size_t i = 0; i < bumps_.size(); ++i) {
        Dice& dice = i < 2 ? of_model : unit;
        bumps_[i] = {range_.low_hz * std::exp(dice.between(0.1, 0.9) * top), dice.between(0.8, 3.0), dice.spread(i < 2 ? 1.0 : 0.8)};
    }
}

std::complex<double> Voice::at(double hz) const {
    using namespace std::complex_literals;
    const auto butterworth = [](std::complex<double> s) { return s * s + std::numbers::sqrt2 * s + 1.0; };
    const std::complex<double> low = 1i * (hz / range_.low_hz), high = 1i * (hz / range_.high_hz);
    std::complex<double> response = low * low / butterworth(low) / butterworth(high);
    if (two_way_) {
        const std::complex<double> s = 1i * (hz / crossover_hz_), den = butterworth(s) * butterworth(s);
        const double dead = 0.02;
        response *= (drivers_ == Drivers::no_low ? dead : 1.0) / den + (drivers_ == Drivers::no_high ? dead : 1.0) * s * s * s * s / den;
    }
    for (const Bump& bump : bumps_) {  // minimum-phase peak
        const double gain = amplitude_of_db(0.5 * bump.gain_db), ratio = hz / bump.hz;
        response *= (1.0 - ratio * ratio + 1i * ratio * gain / bump.q) / (1.0 - ratio * ratio + 1i * ratio / (gain * bump.q));
    }
    return response;
}

}  // namespace proofwalk::trials
