// The inner loop of SHA-256 (FIPS 180-4): whole blocks of 64 bytes. By the processor's own instructions where it has them.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>

namespace proofwalk {

using Sha256State = std::array<std::uint32_t, 8>;
inline constexpr Sha256State sha256_beginning = {0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a,
                                                 0x510e527f, 0x9b05688c, 0x1f83d9ab, 0x5be0cd19};

// The fastest way this processor has.
void sha256_blocks(Sha256State& state, const unsigned char* data, std::size_t blocks);
// The way that every processor has; gives the same.
void sha256_blocks_portable(Sha256State& state, const unsigned char* data, std::size_t blocks);

}  // namespace proofwalk
