#include "report/figures.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace proofwalk::report {
namespace {

constexpr int most_decimals = 4;

std::string trimmed(double value, int decimals) {
    std::string text = fmt::format("{:.{}f}", value, decimals);
    if (text.find('.') == std::string::npos) return text;
    text.erase(text.find_last_not_of('0') + 1);
    if (text.back() == '.') text.pop_back();
    return text;
}

}  // namespace

int decimals_of(double u) {
    if (!std::isfinite(u) || u <= 0.0) return most_decimals;
    const int magnitude = static_cast<int>(std::floor(std::log10(u)));
    const double leading = u / std::pow(10.0, magnitude);
    const int digits = leading < 2.95 ? 2 : 1;  // as rounded
    return std::clamp(digits - 1 - magnitude, 0, most_decimals);
}

int usual_decimals(std::string_view unit) {
    if (unit == "m" || unit == "ms") return 2;
    return unit.empty() ? 0 : 1;
}

std::string fixed(double value, int decimals, Sign sign) {
    if (!std::isfinite(value)) return std::string(no_figure);
    std::string digits = fmt::format("{:.{}f}", std::abs(value), decimals);
    const bool zero = digits.find_first_of("123456789") == std::string::npos;
    if (zero) return digits;
    if (value < 0.0) return std::string(minus_sign) + digits;
    return sign == Sign::always ? "+" + digits : digits;
}

std::string with_uncertainty(std::optional<double> value, std::optional<double> u, std::string_view unit, Sign sign) {
    if (!value || !std::isfinite(*value)) return std::string(no_figure);
    if (!u || !std::isfinite(*u) || *u <= 0.0) return fixed(*value, usual_decimals(unit), sign);
    const int decimals = decimals_of(*u);
    return fmt::format("{} {}{}", fixed(*value, decimals, sign), plus_minus, fixed(*u, decimals));
}

std::string with_unit(const std::string& figure, std::string_view unit) {
    if (unit.empty() || figure == no_figure) return figure;
    if (unit == "deg") return figure + "\u00b0";
    return fmt::format("{} {}", figure, unit);
}

std::string short_hz(double hz) { return hz >= 1000.0 ? trimmed(hz / 1000.0, 2) + "k" : trimmed(hz, 1); }

std::string band_hz(double low_hz, double high_hz) {
    if (low_hz >= 1000.0) return fmt::format("{}\u2013{} kHz", trimmed(low_hz / 1000.0, 2), trimmed(high_hz / 1000.0, 2));
    if (high_hz >= 1000.0) return fmt::format("{} Hz\u2013{} kHz", trimmed(low_hz, 1), trimmed(high_hz / 1000.0, 2));
    return fmt::format("{}\u2013{} Hz", trimmed(low_hz, 1), trimmed(high_hz, 1));
}

}  // namespace proofwalk::report
