#include "units/bands.hpp"

#include "units/convert.hpp"

namespace proofwalk {

std::pair<std::size_t, std::size_t> bands_inside(double low_hz, double high_hz) {
    constexpr double nominal_rounding = 1.03;  // the nominal label is up to 2.4 % off the exact midband
    std::size_t first = 0;
    while (first < band_count && midband_hz(first) * nominal_rounding < low_hz) ++first;
    std::size_t last = first;
    while (last < band_count && midband_hz(last) <= high_hz * nominal_rounding) ++last;
    return {first, last};
}

double power_mean_db(const BandLevels& levels, double low_hz, double high_hz) {
    const auto [first, last] = bands_inside(low_hz, high_hz);
    double sum = 0.0;
    int count = 0;
    for (std::size_t band = first; band < last; ++band) {
        if (!levels.has(band)) continue;
        sum += power_of_db(levels[band]);
        ++count;
    }
    return count == 0 ? std::numeric_limits<double>::quiet_NaN() : power_db(sum / count);
}

}  // namespace proofwalk
