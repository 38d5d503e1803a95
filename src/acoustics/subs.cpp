#include "acoustics/subs.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>

#include <fmt/format.h>

#include "acoustics/delay_chain.hpp"
#include "units/convert.hpp"

namespace proofwalk::acoustics {

Result<std::vector<SubElement>> sub_preset(SubPreset preset, std::size_t elements, double spacing_m, double high_hz, double speed_m_per_s) {
    const auto impossible = [](std::string reason, std::string remedy) {
        return std::unexpected(Fault{FaultKind::input, "", "", std::move(reason), std::move(remedy)});
    };
    if (preset == SubPreset::gradient && elements != 2) return impossible(fmt::format("a gradient pair of {} boxes", elements), "give two");
    if (elements < 2 || elements > 16) return impossible(fmt::format("a row of {} boxes", elements), "give 2 to 16");
    const double widest = speed_m_per_s / (2.0 * high_hz);
    if (!(spacing_m > 0.0) || spacing_m > widest)
        return impossible(fmt::format("a spacing of {:g} m does not hold its pattern up to {:g} Hz", spacing_m, high_hz), fmt::format("the widest possible is {:.2f} m, half a wavelength", widest));
    const double step_ms = 1000.0 * spacing_m / speed_m_per_s;
    std::vector<SubElement> row;
    for (std::size_t i = 0; i < elements; ++i) {
        const double n = static_cast<double>(i);
        if (preset == SubPreset::end_fired)
            row.push_back({n * spacing_m, n * step_ms, false, 0.0});
        else  // the rear one waits until the front one's sound passes backwards, and takes it away
            row.push_back({n * spacing_m, i == 0 ? step_ms : 0.0, i == 0, 0.0});
    }
    return row;
}

double sub_level_db(const std::vector<SubElement>& elements, double angle_deg, double frequency_hz, double speed_m_per_s) {
    std::complex<double> sum;
    for (const SubElement& element : elements) {
        const double late_s = element.delay_ms / 1000.0 - element.ahead_m * std::cos(radians(angle_deg)) / speed_m_per_s;
        sum += (element.inverted ? -1.0 : 1.0) * std::polar(amplitude_of_db(element.gain_db), -2.0 * std::numbers::pi * frequency_hz * late_s);
    }
    return amplitude_db(std::max(std::abs(sum), 1e-15));
}

SubAlignment align_sub(const SubAndMain& pair, double speed_m_per_s) {
    SubAlignment found;
    found.sub_delay_ms = delay_for_ms(pair.main_distance_m, pair.main_delay_ms, pair.sub_distance_m, 0.0, speed_m_per_s) - pair.sub_delay_ms;
    found.sub_gain_db = pair.main_level_db - pair.sub_level_db;
    found.lag_at_60_deg_ms = 1000.0 / (6.0 * std::sqrt(pair.low_hz * pair.high_hz));
    return found;
}

}  // namespace proofwalk::acoustics
