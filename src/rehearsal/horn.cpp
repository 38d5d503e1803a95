#include "rehearsal/horn.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "units/bands.hpp"
#include "units/convert.hpp"

namespace proofwalk::rehearsal {
namespace {

constexpr double keele_m_deg_hz = 2.54e4;  // Keele 1975: control frequency = 1e6 inch deg Hz over mouth times angle
constexpr double rear_db = -24.0;          // what a horn lets past itself, far off its axis
constexpr double usual_width_m = 0.4, usual_height_m = 0.6;  // where the plan gives no size
constexpr double narrowing_exponent = 0.05;  // of the half angle per ratio of frequencies, inside the controlled range

// Frequencies at which a band is judged: third-octave midbands inside it, or its middle when it holds none.
std::vector<double> inside(const plan::Band& band) {
    std::vector<double> hz;
    const auto [first, last] = bands_inside(band.low_hz, band.high_hz);
    for (std::size_t index = first; index < last; ++index) hz.push_back(midband_hz(index));
    if (hz.empty()) hz.push_back(std::sqrt(band.low_hz * band.high_hz));
    return hz;
}

}  // namespace

ModelShape model_shape(const plan::Model& model, KeyedRandom random, bool exact) {
    ModelShape shape{model.coverage_h_deg, model.coverage_v_deg, 2.0, 2.0};
    if (exact) return shape;
    shape.coverage_h_deg *= 1.0 + random.spread(model.coverage_u_pct / 100.0);
    shape.coverage_v_deg *= 1.0 + random.spread(model.coverage_u_pct / 100.0);
    shape.steepness = random.uniform(1.9, 2.15);
    shape.corner = random.uniform(1.95, 2.3);
    return shape;
}

Horn::Horn(const plan::Model& model, const ModelShape& shape, KeyedRandom unit, bool exact)
    : pattern_(model.pattern), shape_(shape) {
    if (!model.directivity.empty()) measured_ = model.pattern_loss;
    if (pattern_ == plan::Pattern::beam && measured_ == nullptr) {
        const double width_m = model.size_m.y > 0.0 ? model.size_m.x : usual_width_m;
        const double height_m = model.size_m.y > 0.0 ? model.size_m.y : usual_height_m;
        control_h_hz_ = keele_m_deg_hz / (width_m * shape.coverage_h_deg);
        control_v_hz_ = keele_m_deg_hz / (height_m * shape.coverage_v_deg);
        meet_coverage(model.aim_band_hz);
    }
    if (exact) return;
    // Differences from unit to unit and from direction to direction: a handful of smooth waves over the sphere.
    ripple_db_ = model.pattern_u_db;
    for (Wave& wave : waves_)
        wave = {unit.uniform(0.02, 0.09), unit.uniform(0.02, 0.09) * (unit.uniform() < 0.5 ? -1.0 : 1.0),
                unit.uniform(0.0, 2.0 * std::numbers::pi), unit.uniform(0.6, 1.4)};
}

double Horn::half_angle_deg(double half_coverage_deg, double control_hz, double frequency_hz) const {
    const double below = control_hz / frequency_hz;
    const double loosened = std::sqrt(std::sqrt(1.0 + below * below * below * below));
    const double beaming = 1.0 / std::sqrt(std::sqrt(1.0 + std::pow(frequency_hz / 16000.0, 4.0)));
    return half_coverage_deg * loosened * beaming * std::pow(frequency_hz / 4000.0, -narrowing_exponent);
}

double Horn::horn_loss_db(double h_deg, double v_deg, double frequency_hz) const {
    const double h = std::abs(h_deg) / half_angle_deg(half_h_deg_, control_h_hz_, frequency_hz);
    const double v = std::abs(v_deg) / half_angle_deg(half_v_deg_, control_v_hz_, frequency_hz);
    const double turned = std::pow(std::pow(h, shape_.corner) + std::pow(v, shape_.corner), 1.0 / shape_.corner);
    const double rear = power_of_db(rear_db);
    return power_db((1.0 - rear) * power_of_db(-6.0 * std::pow(turned, shape_.steepness)) + rear);
}

// Widens or narrows the horn until the power mean over the aim band stands at -6 dB where the true coverage says so.
void Horn::meet_coverage(const plan::Band& aim_band) {
    const std::vector<double> hz = inside(aim_band);
    const auto mean_db = [&](double h_deg, double v_deg) {
        double power = 0.0;
        for (const double frequency : hz) power += power_of_db(horn_loss_db(h_deg, v_deg, frequency));
        return power_db(power / static_cast<double>(hz.size()));
    };
    const auto solve = [&](double& half_deg, double h_deg, double v_deg) {
        double narrow = 0.3 * half_deg, wide = 3.0 * half_deg;
        for (int step = 0; step < 50; ++step) {
            half_deg = 0.5 * (narrow + wide);
            (mean_db(h_deg, v_deg) < -6.0 ? narrow : wide) = half_deg;
        }
    };
    half_h_deg_ = shape_.coverage_h_deg / 2.0;
    half_v_deg_ = shape_.coverage_v_deg / 2.0;
    solve(half_h_deg_, shape_.coverage_h_deg / 2.0, 0.0);
    solve(half_v_deg_, 0.0, shape_.coverage_v_deg / 2.0);
}

double Horn::unit_ripple_db(double h_deg, double v_deg) const {
    if (ripple_db_ == 0.0) return 0.0;
    double sum = 0.0, weight = 0.0;
    for (const Wave& wave : waves_) {
        sum += wave.weight * (std::sin(wave.per_deg_h * h_deg + wave.per_deg_v * v_deg + wave.phase) - std::sin(wave.phase));
        weight += wave.weight * wave.weight;
    }
    return ripple_db_ * sum / std::sqrt(weight);
}

double Horn::loss_db(double h_deg, double v_deg, double frequency_hz) const {
    const double ripple = unit_ripple_db(h_deg, v_deg);
    if (measured_ != nullptr) return measured_->loss_db(h_deg, v_deg, frequency_hz) + ripple;
    if (pattern_ == plan::Pattern::omni) return ripple;
    return horn_loss_db(h_deg, v_deg, frequency_hz) + ripple;
}

}  // namespace proofwalk::rehearsal
