#include "units/sha256.hpp"

#include <array>
#include <cstdint>

#include "units/sha256_blocks.hpp"

namespace proofwalk {
namespace {

std::string hex(const Sha256State& state) {
    constexpr std::string_view digits = "0123456789abcdef";
    std::string text;
    for (const std::uint32_t part : state)
        for (int shift = 28; shift >= 0; shift -= 4) text += digits[part >> shift & 15u];
    return text;
}

}  // namespace

std::string sha256(std::span<const std::byte> bytes) {
    Sha256State state = sha256_beginning;
    const auto* data = reinterpret_cast<const unsigned char*>(bytes.data());
    const std::size_t done = bytes.size() / 64 * 64;
    sha256_blocks(state, data, bytes.size() / 64);
    std::array<unsigned char, 128> last{};
    const std::size_t rest = bytes.size() - done;
    for (std::size_t i = 0; i < rest; ++i) last[i] = data[done + i];
    last[rest] = 0x80;
    const std::size_t padded = rest < 56 ? 64 : 128;
    const std::uint64_t bits = std::uint64_t{bytes.size()} * 8;
    for (std::size_t i = 0; i < 8; ++i) last[padded - 1 - i] = static_cast<unsigned char>(bits >> (8 * i));
    sha256_blocks(state, last.data(), padded / 64);
    return hex(state);
}

std::string sha256(std::string_view text) { return sha256(std::as_bytes(std::span{text.data(), text.size()})); }

}  // namespace proofwalk
