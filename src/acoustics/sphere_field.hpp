// Levels known in scattered directions, made continuous over the sphere. Internal to the folder.
#pragma once

#include <optional>
#include <vector>

#include "acoustics/sofa_file.hpp"
#include "units/bands.hpp"

namespace proofwalk::acoustics {

// Interpolation: in the tangent plane of the wanted direction a quadratic is fitted to the levels (dB) of the directions
// around it by weighted least squares; the weight grows as 1/d^2 towards a measured direction, so measured values are
// kept, and falls to zero at 2.2 times the spacing of the file's directions. A quadratic is what a beam is around its
// axis, and unlike a grid method it needs no regular grid and has no trouble at the poles. Beyond the measured directions
// (allowed behind the box only) the nearest one holds.
// The result stands on a 2 degree grid of (h, v) and is read from it bilinearly.
class SphereField {
public:
    explicit SphereField(const std::vector<SofaDirection>& directions);

    // dB at third-octave band `band`, h -180..180, v -90..90 degrees.
    [[nodiscard]] double level_db(double h_deg, double v_deg, std::size_t band) const;

    // The direction in front of the box (within 90 degrees of its axis) that is farthest from any measured one.
    struct Gap {
        double h_deg = 0.0, v_deg = 0.0;
        double to_nearest_deg = 0.0;
    };
    [[nodiscard]] Gap widest_gap_in_front() const { return gap_; }
    [[nodiscard]] double spacing_deg() const { return spacing_deg_; }

private:
    double spacing_deg_ = 0.0;
    Gap gap_;
    std::vector<float> grid_;  // [v][h][band]
};

}  // namespace proofwalk::acoustics
