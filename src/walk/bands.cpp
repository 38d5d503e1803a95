#include "walk/bands.hpp"

#include <algorithm>

#include "plan/targets.hpp"

namespace proofwalk::walk {

std::vector<std::string> split_circuits(const std::string& joined) {
    std::vector<std::string> parts;
    std::size_t start = 0;
    while (start <= joined.size() && !joined.empty()) {
        const std::size_t end = std::min(joined.find('+', start), joined.size());
        parts.push_back(joined.substr(start, end - start));
        start = end + 1;
    }
    return parts;
}

std::string join_circuits(const std::vector<std::string>& circuits) {
    std::string joined;
    for (const auto& circuit : circuits) joined += (joined.empty() ? "" : "+") + circuit;
    return joined;
}

signal::Bands bands_of(const plan::Plan& plan, const std::string& circuit, const std::string& position,
                       const acoustics::Air& air) {
    signal::Bands bands;
    const auto circuits = split_circuits(circuit);
    if (circuits.empty()) return bands;
    const plan::Position* place = plan.position(position);
    for (const plan::Box* box : plan.boxes_of(circuits.front())) {
        const plan::Model& model = plan.model_of(*box);
        bands.aim_low_hz = model.aim_band_hz.low_hz;
        bands.aim_high_hz = model.aim_band_hz.high_hz;
        bands.range_low_hz = model.range_hz.low_hz;
        bands.range_high_hz = model.range_hz.high_hz;
        if (place == nullptr) continue;
        const double arrival_s = plan::target(plan, *box, *place, air).arrival_s;
        bands.expected_arrival_s = std::min(bands.expected_arrival_s.value_or(arrival_s), arrival_s);
    }
    return bands;
}

}  // namespace proofwalk::walk
