// SHA-256 (FIPS 180-4) as lower-case hexadecimal text; names recordings, plans and chained records.
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <string_view>

namespace proofwalk {

[[nodiscard]] std::string sha256(std::span<const std::byte> bytes);
[[nodiscard]] std::string sha256(std::string_view text);

}  // namespace proofwalk
