// Bytes written and read in a fixed order, little-endian, for the packed columns of the log.
#pragma once

#include <bit>
#include <cstddef>
#include <cstdint>
#include <cstring>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "units/bands.hpp"
#include "units/measured.hpp"

static_assert(std::endian::native == std::endian::little, "packed columns are little-endian and written as they lie");

namespace proofwalk::log {

// Thrown when packed bytes end too soon or hold what was never packed.
struct BadBytes {};

class ByteWriter {
public:
    template <class Number>
    void number(Number value) {
        const auto* data = reinterpret_cast<const std::byte*>(&value);
        bytes_.insert(bytes_.end(), data, data + sizeof value);
    }
    void count(std::size_t value) { number(static_cast<std::uint32_t>(value)); }
    void blob(std::span<const std::byte> value) {
        count(value.size());
        bytes_.insert(bytes_.end(), value.begin(), value.end());
    }
    void text(std::string_view value) { blob(std::as_bytes(std::span{value.data(), value.size()})); }
    void maybe(const std::optional<double>& value) {
        number(static_cast<std::uint8_t>(value.has_value()));
        if (value) number(*value);
    }
    void maybe(const std::optional<Measured>& value) {
        number(static_cast<std::uint8_t>(value.has_value()));
        if (value) {
            number(value->value);
            number(value->u);
        }
    }
    // Only the bands that were measured, after a mask of which they are.
    void bands(const BandLevels& levels) {
        std::uint32_t present = 0;
        for (std::size_t band = 0; band < band_count; ++band)
            if (levels.has(band)) present |= 1u << band;
        number(present);
        for (std::size_t band = 0; band < band_count; ++band)
            if (levels.has(band)) number(levels[band]);
    }
    [[nodiscard]] const std::vector<std::byte>& bytes() const { return bytes_; }

private:
    std::vector<std::byte> bytes_;
};

class ByteReader {
public:
    explicit ByteReader(std::span<const std::byte> bytes) : bytes_(bytes) {}

    template <class Number>
    [[nodiscard]] Number number() {
        Number value;
        std::memcpy(&value, take(sizeof value).data(), sizeof value);
        return value;
    }
    // A count of things that each take at least `least_bytes`: never more than could follow.
    [[nodiscard]] std::size_t count(std::size_t least_bytes = 1) {
        const std::size_t value = number<std::uint32_t>();
        if (value > bytes_.size() / least_bytes) throw BadBytes{};
        return value;
    }
    [[nodiscard]] std::span<const std::byte> blob() { return take(count()); }
    [[nodiscard]] std::string text() {
        const auto part = blob();
        return {reinterpret_cast<const char*>(part.data()), part.size()};
    }
    [[nodiscard]] bool yes() {
        const auto value = number<std::uint8_t>();
        if (value > 1) throw BadBytes{};
        return value == 1;
    }
    [[nodiscard]] std::optional<double> maybe() {
        if (!yes()) return std::nullopt;
        return number<double>();
    }
    [[nodiscard]] std::optional<Measured> maybe_measured() {
        if (!yes()) return std::nullopt;
        const double value = number<double>();
        return Measured{value, number<double>()};
    }
    [[nodiscard]] BandLevels bands() {
        BandLevels levels;
        const auto present = number<std::uint32_t>();
        if (present >> band_count != 0) throw BadBytes{};
        for (std::size_t band = 0; band < band_count; ++band)
            if ((present >> band & 1u) != 0) levels[band] = number<double>();
        return levels;
    }
    [[nodiscard]] bool at_end() const { return bytes_.empty(); }

private:
    std::span<const std::byte> take(std::size_t size) {
        if (size > bytes_.size()) throw BadBytes{};
        const auto part = bytes_.first(size);
        bytes_ = bytes_.subspan(size);
        return part;
    }
    std::span<const std::byte> bytes_;
};

}  // namespace proofwalk::log
