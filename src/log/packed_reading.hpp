// A reading as bytes in the log and back, to the bit.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "signal/evidence.hpp"

namespace proofwalk::log {

[[nodiscard]] std::vector<std::byte> packed(const signal::Reading& reading);
[[nodiscard]] signal::Reading reading_from(std::span<const std::byte> bytes);  // throws BadBytes

[[nodiscard]] std::vector<std::byte> packed(const BandLevels& levels);
[[nodiscard]] BandLevels bands_from(std::span<const std::byte> bytes);  // throws BadBytes

}  // namespace proofwalk::log
