// Figures as people read them: real signs, no more digits than the uncertainty allows (JCGM 100, 7.2.6: at most two
// significant digits of an uncertainty; two while it starts with 1 or 2, else one). Never NaN or infinity.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace proofwalk::report {

inline constexpr std::string_view minus_sign = "\u2212";
inline constexpr std::string_view plus_minus = "\u00b1";
inline constexpr std::string_view no_figure = "\u2013";  // an en dash stands where there is no figure

enum class Sign { when_negative, always };

// Digits after the decimal point that an uncertainty carries, 0..4.
[[nodiscard]] int decimals_of(double u);
// Digits after the decimal point of a figure of this unit when no uncertainty is known.
[[nodiscard]] int usual_decimals(std::string_view unit);

// "-4.1" with a real minus sign; never "-0.0"; no_figure when it is not finite.
[[nodiscard]] std::string fixed(double value, int decimals, Sign sign = Sign::when_negative);
// "-4.1 +-1.2" in the digits of u; without u in the usual digits of the unit.
[[nodiscard]] std::string with_uncertainty(std::optional<double> value, std::optional<double> u, std::string_view unit,
                                           Sign sign = Sign::always);
// The same with a unit behind it ("-4.1 +-1.2 deg" with a real degree sign for angles).
[[nodiscard]] std::string with_unit(const std::string& figure, std::string_view unit);
// Frequency as on an axis: "63", "1.25k", "16k".
[[nodiscard]] std::string short_hz(double hz);
// "2-8 kHz"
[[nodiscard]] std::string band_hz(double low_hz, double high_hz);

}  // namespace proofwalk::report
