#include "verify/pair_sum.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "units/convert.hpp"

namespace proofwalk::verify {
namespace {

constexpr std::size_t least_bands = 3;
constexpr double deepest = 0.02;  // power of a null beside the two together: real boxes differ too much for a deeper one

// Mean of cos(2 pi f t) over a third octave.
double coherence(std::size_t band, double apart_s) {
    const double half_turn = std::numbers::pi * (upper_edge_hz(band) - lower_edge_hz(band)) * apart_s;
    const double over_band = std::abs(half_turn) < 1e-9 ? 1.0 : std::sin(half_turn) / half_turn;
    return over_band * std::cos(std::numbers::pi * (upper_edge_hz(band) + lower_edge_hz(band)) * apart_s);
}

double sum_db(double first_db, double second_db, double coherence) {
    const double a = amplitude_of_db(first_db), b = amplitude_of_db(second_db);
    return power_db(std::max(a * a + b * b + 2.0 * a * b * coherence, deepest * (a * a + b * b)));
}

}  // namespace

std::optional<PairSum> pair_sum(const signal::Reading& first, const signal::Reading& second, const signal::Reading& both) {
    if (!first.arrival_s || !second.arrival_s || first.absolute != second.absolute) return std::nullopt;
    const double apart_s = second.arrival_s->value - first.arrival_s->value;
    if (std::abs(apart_s) > both.gate_s) return std::nullopt;
    const double sign = first.polarity.value_or(1) * second.polarity.value_or(1);
    const double from_hz = std::max({first.gate_resolves_from_hz, second.gate_resolves_from_hz, both.gate_resolves_from_hz});
    PairSum sum;
    double off = 0.0, turned = 0.0;
    for (std::size_t band = 0; band < band_count; ++band) {
        if (lower_edge_hz(band) < from_hz || !first.direct_db.has(band) || !second.direct_db.has(band) || !both.direct_db.has(band)) continue;
        const double together = sign * coherence(band, apart_s);
        const double predicted = sum_db(first.direct_db[band], second.direct_db[band], together);
        const double other = sum_db(first.direct_db[band], second.direct_db[band], -together);
        sum.bands.push_back({band, predicted, both.direct_db[band], std::max(first.direct_db[band], second.direct_db[band])});
        off += std::pow(both.direct_db[band] - predicted, 2);
        turned += std::pow(both.direct_db[band] - other, 2);
    }
    if (sum.bands.size() < least_bands) return std::nullopt;
    sum.off_db = std::sqrt(off / static_cast<double>(sum.bands.size()));
    sum.turned_db = std::sqrt(turned / static_cast<double>(sum.bands.size()));
    return sum;
}

}  // namespace proofwalk::verify
