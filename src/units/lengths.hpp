// Lengths as people write them: metres, or feet and inches. The plan file stays metric.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace proofwalk {

enum class LengthUnit { metres, feet };

// "3.5", "3.5 m", "350 cm", "3500 mm", "12 ft", "12'", "12' 6\"", "12ft 6.5in", "12' 6 1/2\"", "6 1/2 in", "-3'"; a bare number
// is of the unit given. Metres; nothing when it is none of these or not finite.
[[nodiscard]] std::optional<double> length_from_text(std::string_view text, LengthUnit bare);

// "10.36 m", or feet and inches to the quarter inch: "34' 0\"", "12' 6 1/4\"", "-0' 3\"".
[[nodiscard]] std::string length_text(double metres, LengthUnit unit);

}  // namespace proofwalk
