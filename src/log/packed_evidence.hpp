// Evidence as bytes in the log and back, to the bit; small where the impulse response stands on a grid.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "signal/evidence.hpp"

namespace proofwalk::log {

// Throws BadBytes for evidence that could not be read back, such as samples that are not finite.
[[nodiscard]] std::vector<std::byte> packed(const signal::Evidence& evidence);
[[nodiscard]] signal::Evidence evidence_from(std::span<const std::byte> bytes);  // throws BadBytes

}  // namespace proofwalk::log
