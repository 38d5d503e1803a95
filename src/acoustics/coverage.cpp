#include "acoustics/coverage.hpp"

#include <algorithm>

#include "acoustics/root.hpp"
#include "units/bands.hpp"

namespace proofwalk::acoustics {
namespace {

std::optional<double> both(const std::optional<double>& one, const std::optional<double>& other) {
    return one && other ? std::optional(*one + *other) : std::nullopt;
}

}  // namespace

std::optional<double> CoverageAt::horizontal_deg() const { return both(left_deg, right_deg); }
std::optional<double> CoverageAt::vertical_deg() const { return both(up_deg, down_deg); }

CoverageAt coverage_at(const Directivity& pattern, double low_hz, double high_hz) {
    const auto edge = [&](double h, double v, double farthest) {
        return first_root([&](double off) { return pattern.loss_db(h * off, v * off, low_hz, high_hz) + 6.0; }, 0.0, farthest, 0.5);
    };
    return {low_hz, high_hz, edge(1, 0, 180), edge(-1, 0, 180), edge(0, 1, 90), edge(0, -1, 90)};
}

std::vector<CoverageAt> coverage_by_band(const Directivity& pattern, double low_hz, double high_hz) {
    std::vector<CoverageAt> all;
    const auto [first, last] = bands_inside(low_hz, high_hz);
    for (std::size_t band = first; band < last; ++band) all.push_back(coverage_at(pattern, lower_edge_hz(band), upper_edge_hz(band)));
    return all;
}

}  // namespace proofwalk::acoustics
