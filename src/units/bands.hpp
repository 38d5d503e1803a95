// Third-octave bands, IEC 61260-1 base-ten: exact midbands 1000 * 10^(k/10) Hz, edges a factor 10^(1/20) either side.
#pragma once

#include <array>
#include <cmath>
#include <cstddef>
#include <limits>
#include <utility>

namespace proofwalk {

inline constexpr std::size_t band_count = 31;  // nominal 20 Hz .. 20 kHz: k = -17 .. 13

// Nominal labels (ISO 266); for words and axes only, never for computing.
inline constexpr std::array<double, band_count> nominal_hz = {
    20,  25,  31.5, 40,   50,   63,   80,   100,  125,  160,  200,  250,   315,   400,   500,  630,
    800, 1000, 1250, 1600, 2000, 2500, 3150, 4000, 5000, 6300, 8000, 10000, 12500, 16000, 20000};

[[nodiscard]] inline double midband_hz(std::size_t band) {
    return 1000.0 * std::pow(10.0, (static_cast<double>(band) - 17.0) / 10.0);
}
[[nodiscard]] inline double lower_edge_hz(std::size_t band) { return midband_hz(band) * std::pow(10.0, -0.05); }
[[nodiscard]] inline double upper_edge_hz(std::size_t band) { return midband_hz(band) * std::pow(10.0, 0.05); }

// One figure a band. A band that was not measured is absent (NaN inside, never shown or written as a number).
struct BandLevels {
    std::array<double, band_count> db;

    BandLevels() { db.fill(std::numeric_limits<double>::quiet_NaN()); }
    [[nodiscard]] bool has(std::size_t band) const { return std::isfinite(db[band]); }
    double& operator[](std::size_t band) { return db[band]; }
    double operator[](std::size_t band) const { return db[band]; }
};

// The first and one past the last band whose midband lies inside low_hz..high_hz (a midband on a limit, within
// 3 % for nominal labels, is inside).
[[nodiscard]] std::pair<std::size_t, std::size_t> bands_inside(double low_hz, double high_hz);

// Power mean of the present bands inside low_hz..high_hz, in dB; NaN when there is none.
[[nodiscard]] double power_mean_db(const BandLevels& levels, double low_hz, double high_hz);

}  // namespace proofwalk
