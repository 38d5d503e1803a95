#include "capture/wav_header.hpp"

#include <cstdint>

#include <fmt/format.h>

namespace proofwalk::capture {
namespace {

std::uint64_t little_endian(std::string_view bytes, std::size_t at, std::size_t width) {
    std::uint64_t value = 0;
    for (std::size_t i = 0; i < width; ++i)
        value |= std::uint64_t{static_cast<unsigned char>(bytes[at + i])} << (8 * i);
    return value;
}

std::string cut_short(std::uint64_t promised, std::uint64_t there) {
    return fmt::format("truncated: its header promises {} bytes of sound, {} are there", promised, there);
}

constexpr std::string_view unfinished =
    "its header was never finished, as when a recorder stops without warning, so nobody can tell whether it is whole";

// Chunks of RIFF and RF64: four letters, 32-bit size, padded to even; RF64 keeps the true size of the sound in "ds64".
std::optional<std::string> why_not_whole_riff(std::string_view bytes, bool rf64) {
    std::uint64_t long_size = 0;
    std::size_t at = 12;
    while (at + 8 <= bytes.size()) {
        const std::string_view name = bytes.substr(at, 4);
        std::uint64_t size = little_endian(bytes, at + 4, 4);
        const std::size_t content = at + 8;
        if (name == "ds64" && content + 16 <= bytes.size()) long_size = little_endian(bytes, content + 8, 8);
        if (name == "data") {
            const std::uint64_t there = bytes.size() - content;
            if (size == 0xFFFFFFFFu) {
                if (!rf64) return std::string(unfinished);
                size = long_size;
            }
            if (size == 0 && there > 0) return std::string(unfinished);
            if (size > there) return cut_short(size, there);
            return std::nullopt;
        }
        if (size > bytes.size() - content) break;
        at = content + static_cast<std::size_t>(size + (size & 1u));
    }
    return "truncated: the part that holds the sound is missing";
}

// W64: 16-byte names that begin with the RIFF letters in lower case, 64-bit sizes that count their own 24 bytes, padded to 8.
std::optional<std::string> why_not_whole_w64(std::string_view bytes) {
    std::size_t at = 40;
    while (at + 24 <= bytes.size()) {
        const std::uint64_t size = little_endian(bytes, at + 16, 8);
        if (size < 24) return std::string(unfinished);
        const std::uint64_t there = bytes.size() - at;
        if (bytes.substr(at, 4) == "data")
            return size > there ? std::optional(cut_short(size - 24, there - 24)) : std::nullopt;
        if (size > there) break;
        at += static_cast<std::size_t>((size + 7) / 8 * 8);
    }
    return "truncated: the part that holds the sound is missing";
}

}  // namespace

std::optional<std::string> why_not_whole(std::string_view bytes) {
    if (bytes.size() >= 12 && bytes.substr(8, 4) == "WAVE") {
        if (bytes.starts_with("RIFF")) return why_not_whole_riff(bytes, false);
        if (bytes.starts_with("RF64")) return why_not_whole_riff(bytes, true);
    }
    if (bytes.size() >= 40 && bytes.starts_with("riff")) return why_not_whole_w64(bytes);
    return std::nullopt;
}

}  // namespace proofwalk::capture
