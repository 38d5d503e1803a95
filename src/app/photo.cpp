#include "app/photo.hpp"

#include <fmt/format.h>
#include <stb/stb_image.h>

#include <array>
#include <cstring>
#include <memory>

namespace proofwalk::app {
namespace {

using namespace std::string_view_literals;

constexpr std::size_t most_bytes = 64U << 20U;
constexpr unsigned tag_orientation = 0x0112;

Fault refused(const std::string& name, std::string reason, std::string remedy) { return {FaultKind::input, name, "", std::move(reason), std::move(remedy)}; }

unsigned number(std::string_view bytes, std::size_t at, std::size_t length, bool low_first) {
    if (at > bytes.size() || length > bytes.size() - at) return 0;
    unsigned value = 0;
    for (std::size_t i = 0; i < length; ++i) value = (value << 8U) | static_cast<unsigned char>(bytes[at + (low_first ? length - 1 - i : i)]);
    return value;
}

// The orientation in the first directory of a TIFF block.
int orientation_in(std::string_view tiff) {
    const bool low_first = tiff.starts_with("II"sv);
    const std::size_t directory = number(tiff, 4, 4, low_first);
    const unsigned entries = number(tiff, directory, 2, low_first);
    for (unsigned i = 0; i < entries; ++i) {
        const std::size_t entry = directory + 2 + std::size_t{12} * i;
        if (entry + 12 > tiff.size()) return 1;
        if (number(tiff, entry, 2, low_first) != tag_orientation) continue;
        const unsigned value = number(tiff, entry + 8, 2, low_first);
        return value >= 1 && value <= 8 ? static_cast<int>(value) : 1;
    }
    return 1;
}

}  // namespace

int orientation_of(std::string_view jpeg) {
    for (std::size_t at = 2; at + 4 <= jpeg.size();) {
        const unsigned marker = number(jpeg, at, 2, false), length = number(jpeg, at + 2, 2, false);
        if ((marker & 0xFF00U) != 0xFF00U || marker == 0xFFDAU || length < 2) return 1;
        const std::string_view segment = jpeg.substr(at + 4, length - 2);
        if (marker == 0xFFE1U && segment.starts_with("Exif\0\0"sv)) return orientation_in(segment.substr(6));
        at += 2U + length;
    }
    return 1;
}

Pixels upright(Pixels pixels, int orientation) {
    if (orientation <= 1 || orientation > 8) return pixels;
    const bool turned = orientation >= 5;
    const int width = pixels.width, height = pixels.height;
    Pixels result{turned ? height : width, turned ? width : height};
    for (int y = 0; y < height; ++y)
        for (int x = 0; x < width; ++x) {
            const int back_x = width - 1 - x, back_y = height - 1 - y;
            const std::array<std::array<int, 2>, 8> places = {{{x, y}, {back_x, y}, {back_x, back_y}, {x, back_y}, {y, x}, {back_y, x}, {back_y, back_x}, {y, back_x}}};
            const auto [to_x, to_y] = places[static_cast<std::size_t>(orientation - 1)];
            result.at(to_x, to_y) = pixels.at(x, y);
        }
    return result;
}

Pixels made_smaller(Pixels pixels, int most_side) {
    const int longest = std::max(pixels.width, pixels.height);
    if (longest <= most_side || longest == 0) return pixels;
    const auto scaled = [&](int side) { return std::max(1, static_cast<int>(static_cast<long long>(side) * most_side / longest)); };
    Pixels result{scaled(pixels.width), scaled(pixels.height)};
    const auto edge = [](int at, int count, int of) { return static_cast<int>(static_cast<long long>(at) * of / count); };
    for (int y = 0; y < result.height; ++y)
        for (int x = 0; x < result.width; ++x) {
            std::array<unsigned long long, 4> sum{};
            const int left = edge(x, result.width, pixels.width), right = edge(x + 1, result.width, pixels.width);
            const int top = edge(y, result.height, pixels.height), bottom = edge(y + 1, result.height, pixels.height);
            for (int v = top; v < bottom; ++v)
                for (int u = left; u < right; ++u)
                    for (unsigned c = 0; c < 4; ++c) sum[c] += (pixels.at(u, v) >> (8U * c)) & 0xFFU;
            const auto count = static_cast<unsigned long long>(right - left) * static_cast<unsigned long long>(bottom - top);
            for (unsigned c = 0; c < 4; ++c) result.at(x, y) |= static_cast<Colour>((sum[c] + count / 2) / count) << (8U * c);
        }
    return result;
}

Result<Pixels> photo_from_bytes(std::string_view bytes, const std::string& name, int most_side) {
    const bool jpeg = bytes.starts_with("\xff\xd8\xff"sv);
    if (!jpeg && !bytes.starts_with("\x89PNG\r\n\x1a\n"sv)) return std::unexpected(refused(name, "is no PNG or JPEG, so it can't be shown here", "open it with a program for its kind"));
    if (bytes.size() > most_bytes) return std::unexpected(refused(name, fmt::format("is {} MB large; up to {} MB are shown", bytes.size() >> 20U, most_bytes >> 20U), "make a smaller copy and attach that"));
    const auto* data = reinterpret_cast<const unsigned char*>(bytes.data());
    const int size = static_cast<int>(bytes.size());
    int width = 0, height = 0, parts = 0;
    const auto damaged = [&] { return std::unexpected(refused(name, "is damaged: its picture can't be read", "attach the photo again from its source")); };
    const auto giant = [&](long long across, long long down) { return across > 0 && down > most_photo_pixels / across; };
    const auto too_large = [&](long long across, long long down) {
        return std::unexpected(refused(name, fmt::format("has {} x {} pixels; up to {} million are shown", across, down, most_photo_pixels / 1'000'000), "make a smaller copy and attach that"));
    };
    // A PNG names its size first (ISO/IEC 15948, 11.2.2); its reader gives no reason where it finds that too large.
    if (!jpeg)
        if (const long long across = number(bytes, 16, 4, false), down = number(bytes, 20, 4, false); giant(across, down)) return too_large(across, down);
    if (stbi_info_from_memory(data, size, &width, &height, &parts) == 0 || width <= 0 || height <= 0) return damaged();
    if (giant(width, height)) return too_large(width, height);
    const std::unique_ptr<unsigned char, void (*)(void*)> decoded{stbi_load_from_memory(data, size, &width, &height, &parts, 4), stbi_image_free};
    if (!decoded) return damaged();
    Pixels pixels{width, height};
    std::memcpy(pixels.colours.data(), decoded.get(), pixels.colours.size() * sizeof(Colour));  // red first in memory, as Colour has it
    return upright(made_smaller(std::move(pixels), most_side), jpeg ? orientation_of(bytes) : 1);
}

}  // namespace proofwalk::app
