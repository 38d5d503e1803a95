// The beam model: -6 dB * ((h/(H/2))^2 + (v/(V/2))^2), floored at -30 dB. H and V are the full angles between the -6 dB
// points. Below the pattern-control frequency a horn of mouth size d no longer holds its angle theta: f = K / (theta d),
// K = 2.54e4 m deg Hz (Keele, "What's so sacred about exponential horns?", AES 51st convention, 1975; empirical), so
// below it the angle grows as 1/f. The plan format fixes the angle inside the aim band, so it widens below both.
#include <algorithm>
#include <cmath>

#include "acoustics/directivity.hpp"
#include "units/bands.hpp"
#include "units/convert.hpp"

namespace proofwalk::acoustics {
namespace {

constexpr double edge_loss_db = 6.0;
constexpr double floor_db = -30.0;
constexpr double horn_constant_m_deg_hz = 2.54e4;

class BeamModel final : public Directivity {
public:
    explicit BeamModel(const Beam& beam)
        : beam_(beam),
          control_h_hz_(control_hz(beam.coverage_h_deg, beam.width_m)),
          control_v_hz_(control_hz(beam.coverage_v_deg, beam.height_m)) {}

    double loss_db(double h_deg, double v_deg, double frequency_hz) const override {
        const double h = h_deg / (0.5 * widened(beam_.coverage_h_deg, control_h_hz_, frequency_hz));
        const double v = v_deg / (0.5 * widened(beam_.coverage_v_deg, control_v_hz_, frequency_hz));
        return std::max(-edge_loss_db * (h * h + v * v), floor_db);
    }

    double loss_db(double h_deg, double v_deg, double low_hz, double high_hz) const override {
        if (low_hz >= std::max(control_h_hz_, control_v_hz_)) return loss_db(h_deg, v_deg, low_hz);
        return band_mean_db(low_hz, high_hz, [&](double f) { return loss_db(h_deg, v_deg, f); });
    }

private:
    double control_hz(double coverage_deg, double mouth_m) const {
        if (mouth_m <= 0.0) return 0.0;
        return std::min(horn_constant_m_deg_hz / (coverage_deg * mouth_m), beam_.aim_low_hz);
    }
    static double widened(double coverage_deg, double control_hz, double frequency_hz) {
        return frequency_hz < control_hz ? coverage_deg * control_hz / frequency_hz : coverage_deg;
    }

    Beam beam_;
    double control_h_hz_, control_v_hz_;
};

class Omni final : public Directivity {
public:
    double loss_db(double, double, double) const override { return 0.0; }
    double loss_db(double, double, double, double) const override { return 0.0; }
};

}  // namespace

double band_mean_db(double low_hz, double high_hz, const std::function<double(double)>& level_db) {
    const auto [first, last] = bands_inside(low_hz, high_hz);
    if (first == last) return level_db(std::sqrt(low_hz * high_hz));
    double sum = 0.0;
    for (std::size_t band = first; band < last; ++band) sum += power_of_db(level_db(midband_hz(band)));
    return power_db(sum / static_cast<double>(last - first));
}

std::shared_ptr<const Directivity> beam_directivity(const Beam& beam) { return std::make_shared<BeamModel>(beam); }

std::shared_ptr<const Directivity> omni_directivity() {
    static const auto omni = std::make_shared<const Omni>();
    return omni;
}

}  // namespace proofwalk::acoustics
