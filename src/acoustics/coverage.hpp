// The -6 dB angles of a pattern, band by band: what a measured box covers against what its data sheet says.
#pragma once

#include <optional>
#include <vector>

#include "acoustics/directivity.hpp"

namespace proofwalk::acoustics {

// Off-axis angles, positive numbers, where the level first falls 6 dB below the axis; nothing where it never does.
struct CoverageAt {
    double low_hz = 0.0, high_hz = 0.0;
    std::optional<double> left_deg, right_deg, up_deg, down_deg;

    [[nodiscard]] std::optional<double> horizontal_deg() const;
    [[nodiscard]] std::optional<double> vertical_deg() const;
};
[[nodiscard]] CoverageAt coverage_at(const Directivity& pattern, double low_hz, double high_hz);
// Third octaves inside low_hz..high_hz.
[[nodiscard]] std::vector<CoverageAt> coverage_by_band(const Directivity& pattern, double low_hz, double high_hz);

}  // namespace proofwalk::acoustics
