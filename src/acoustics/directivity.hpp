// How much quieter a box is off its axis.
#pragma once

#include <filesystem>
#include <functional>
#include <memory>

#include "units/fault.hpp"

namespace proofwalk::acoustics {

class Directivity {
public:
    virtual ~Directivity() = default;
    // Loss in dB (0 on axis, negative off axis) towards h, v degrees (see Bearing) at a frequency.
    [[nodiscard]] virtual double loss_db(double h_deg, double v_deg, double frequency_hz) const = 0;
    // Power mean of the loss over a band, as an aim-band level sees it.
    [[nodiscard]] virtual double loss_db(double h_deg, double v_deg, double low_hz, double high_hz) const = 0;
};

// The stand-in of the plan format: -6 dB * ((h/(H/2))^2 + (v/(V/2))^2), floored at -30 dB, the same at every frequency
// inside the aim band; below the pattern-control frequency the angles widen (Keele 1975), see beam_model.cpp.
struct Beam {
    double coverage_h_deg = 90.0;
    double coverage_v_deg = 60.0;
    double aim_low_hz = 2000.0;
    double width_m = 0.0, height_m = 0.0;  // size of the box; 0: unknown, no widening
};
[[nodiscard]] std::shared_ptr<const Directivity> beam_directivity(const Beam& beam);
[[nodiscard]] std::shared_ptr<const Directivity> omni_directivity();
// AES69 (SOFA) file; magnitudes normalised to the axis.
[[nodiscard]] Result<std::shared_ptr<const Directivity>> directivity_from_sofa(const std::filesystem::path& file);

// Power mean over the third-octave midbands inside low_hz..high_hz of a level that depends on frequency; between two
// midbands the level at the geometric mean.
[[nodiscard]] double band_mean_db(double low_hz, double high_hz, const std::function<double(double)>& level_db);

}  // namespace proofwalk::acoustics
