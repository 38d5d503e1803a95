#include "verify/phrases.hpp"

#include <cmath>

#include <fmt/format.h>

#include "units/convert.hpp"

namespace proofwalk::verify {
namespace {

constexpr double processor_rate_hz = 48000.0;  // of loudspeaker processors; common practice, no source

}  // namespace

std::string degrees_text(double deg) { return fmt::format("{:.1f} deg", std::abs(deg)); }
std::string level_text(double db) { return fmt::format("{:.1f} dB", std::abs(db)); }
std::string time_text(double ms) {
    return std::abs(ms) < 1.0 ? fmt::format("{:.2f} ms", std::abs(ms)) : fmt::format("{:.1f} ms", std::abs(ms));
}
std::string length_text(double m) { return fmt::format("{:.2f} m", std::abs(m)); }

std::string delay_text(double ms, double speed_m_s) {
    const double samples = std::round(std::abs(ms) * processor_rate_hz / 1e3);
    const double rounded_ms = 1e3 * samples / processor_rate_hz;
    return fmt::format("{:.2f} ms ({:.0f} samples at 48 kHz, {:.2f} m)", rounded_ms, samples, rounded_ms * speed_m_s / 1e3);
}

std::string house_side(double pan_deg, bool to_own_left) {
    // Facing the house (+x) a box's left is stage left, which the audience calls house right.
    const bool faces_house = std::cos(radians(pan_deg)) >= 0.0;
    return to_own_left == faces_house ? "house right" : "house left";
}

std::string unearned_text(double uncertainty, const std::string& unit) {
    return fmt::format("nothing speaks against the plan, but the takes alone leave it uncertain by {:.2g} {}", uncertainty, unit);
}

std::string listed(const std::vector<std::string>& names) {
    std::string text;
    for (std::size_t i = 0; i < names.size(); ++i) {
        if (i > 0) text += i + 1 == names.size() ? " and " : ", ";
        text += names[i];
    }
    return text;
}

}  // namespace proofwalk::verify
