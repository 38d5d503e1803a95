// The sound of one box of a hang at every ear and line of frequency, fast: the inner loop of the search. Internal.
#pragma once

#include <array>
#include <cstddef>
#include <vector>

#include "acoustics/line_hang.hpp"

namespace proofwalk::acoustics {

inline constexpr std::size_t lines_per_octave = 6, octaves = 8;
inline constexpr std::size_t line_count = lines_per_octave * octaves;  // 62.5 Hz * 2^(i/6)
inline constexpr std::size_t hang_bands = line_count / 2;              // third octaves of two lines
[[nodiscard]] double hang_line_hz(std::size_t line);

// Complex pressure at the ears, [ear][line].
struct Field {
    std::vector<float> real, imaginary;
    explicit Field(std::size_t ears = 0) : real(ears * line_count, 0.0f), imaginary(ears * line_count, 0.0f) {}
};

class HangModel {
public:
    explicit HangModel(const HangDesign& design);

    struct BoxPlace {
        double tilt_deg = 0.0, ahead_m = 0.0, height_m = 0.0;
        double top_ahead_m = 0.0, top_height_m = 0.0;  // of its upper joint
    };
    // The box that hangs below `above` (null: the uppermost, at the trim).
    [[nodiscard]] BoxPlace place_below(const BoxPlace* above, double tilt_deg) const;
    // Adds one box to a field.
    void add(const BoxPlace& box, Field& field) const;
    // Unevenness of a complete field, see HangFigures.
    [[nodiscard]] double unevenness_db(const Field& field) const;
    [[nodiscard]] HangFigures figures(const std::vector<BoxPlace>& boxes, const Field& field) const;

    [[nodiscard]] std::size_t ears() const { return design_.ears.size(); }
    [[nodiscard]] const HangDesign& design() const { return design_; }

private:
    void band_levels(const Field& field, std::vector<double>& levels) const;  // [ear][judged band], dB

    HangDesign design_;
    double speed_ = 343.0;
    std::size_t first_band_ = 0, last_band_ = hang_bands;
    std::vector<float> gain_;  // [angle step][line], amplitude
    std::vector<float> air_;   // [metre][line], amplitude
};

}  // namespace proofwalk::acoustics
