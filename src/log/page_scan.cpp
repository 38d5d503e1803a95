#include "log/page_scan.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cstring>
#include <fstream>
#include <optional>
#include <span>

namespace proofwalk::log {
namespace {

constexpr std::size_t page_bytes = 4096;  // of every log
constexpr std::size_t most_columns = 64;

using Page = std::array<std::uint8_t, page_bytes>;

class Pages {
public:
    explicit Pages(const std::filesystem::path& file) : in_(file, std::ios::binary) {
        std::error_code error;
        const auto size = std::filesystem::file_size(file, error);
        count_ = error ? 0 : static_cast<std::uint32_t>(size / page_bytes);
    }
    [[nodiscard]] std::uint32_t count() const { return count_; }
    // Pages count from 1.
    [[nodiscard]] bool read(std::uint32_t number, Page& page) {
        if (number == 0 || number > count_) return false;
        in_.clear();
        in_.seekg(static_cast<std::streamoff>(number - 1) * static_cast<std::streamoff>(page_bytes));
        return static_cast<bool>(in_.read(reinterpret_cast<char*>(page.data()), page_bytes));
    }

private:
    std::ifstream in_;
    std::uint32_t count_ = 0;
};

std::uint32_t big_endian(std::span<const std::uint8_t> bytes) {
    std::uint32_t value = 0;
    for (const std::uint8_t byte : bytes) value = value << 8 | byte;
    return value;
}

// Variable-length integer; moves `at`. Nothing when it would leave the bytes.
std::optional<std::uint64_t> varint(std::span<const std::uint8_t> bytes, std::size_t& at) {
    std::uint64_t value = 0;
    for (int part = 0; part < 9; ++part) {
        if (at >= bytes.size()) return std::nullopt;
        const std::uint8_t byte = bytes[at++];
        if (part == 8) return value << 8 | byte;
        value = value << 7 | (byte & 0x7fu);
        if ((byte & 0x80u) == 0) return value;
    }
    return value;
}

// How much of a payload stands in the page itself.
std::size_t local_bytes(std::size_t payload, bool table) {
    const std::size_t most = table ? page_bytes - 35 : (page_bytes - 12) * 64 / 255 - 23;
    if (payload <= most) return payload;
    const std::size_t least = (page_bytes - 12) * 32 / 255 - 23;
    const std::size_t wanted = least + (payload - least) % (page_bytes - 4);
    return wanted <= most ? wanted : least;
}

std::optional<std::vector<std::uint8_t>> payload_at(Pages& pages, const Page& page, std::size_t at, std::uint64_t size,
                                                    bool table) {
    if (size > std::uint64_t{pages.count()} * page_bytes) return std::nullopt;
    const std::size_t local = local_bytes(static_cast<std::size_t>(size), table);
    if (at + local + (local < size ? 4 : 0) > page_bytes) return std::nullopt;
    std::vector<std::uint8_t> payload(page.begin() + static_cast<std::ptrdiff_t>(at),
                                      page.begin() + static_cast<std::ptrdiff_t>(at + local));
    std::uint32_t next = local < size ? big_endian(std::span{page}.subspan(at + local, 4)) : 0;
    Page overflow;
    while (payload.size() < size) {
        if (!pages.read(next, overflow)) return std::nullopt;
        const std::size_t part = std::min<std::size_t>(page_bytes - 4, static_cast<std::size_t>(size) - payload.size());
        payload.insert(payload.end(), overflow.begin() + 4, overflow.begin() + 4 + static_cast<std::ptrdiff_t>(part));
        next = big_endian(std::span{overflow}.first(4));
    }
    return payload;
}

std::optional<FoundValue> value_of(std::uint64_t type, std::span<const std::uint8_t> bytes, std::size_t& at) {
    constexpr std::array<std::size_t, 8> sizes = {0, 1, 2, 3, 4, 6, 8, 8};
    if (type == 0) return FoundValue{};
    if (type == 8 || type == 9) return FoundValue{static_cast<std::int64_t>(type - 8)};
    if (type == 10 || type == 11) return std::nullopt;
    const std::uint64_t size = type < 8 ? sizes[static_cast<std::size_t>(type)] : (type - 12) / 2;
    if (size > bytes.size() - at) return std::nullopt;
    const auto part = bytes.subspan(at, static_cast<std::size_t>(size));
    at += part.size();
    if (type < 8) {
        std::uint64_t value = (part[0] & 0x80u) != 0 ? ~std::uint64_t{0} : 0;
        for (const std::uint8_t byte : part) value = value << 8 | byte;
        if (type == 7) return FoundValue{std::bit_cast<double>(value)};
        return FoundValue{static_cast<std::int64_t>(value)};
    }
    const auto* data = reinterpret_cast<const std::byte*>(part.data());
    if (type % 2 == 0) return FoundValue{std::vector<std::byte>(data, data + part.size())};
    return FoundValue{std::string(reinterpret_cast<const char*>(data), part.size())};
}

std::optional<std::vector<FoundValue>> values_in(std::span<const std::uint8_t> payload) {
    std::size_t at = 0;
    const auto header = varint(payload, at);
    if (!header || *header > payload.size()) return std::nullopt;
    const auto types = payload.first(static_cast<std::size_t>(*header));
    std::size_t body = types.size();
    std::vector<FoundValue> values;
    while (at < types.size()) {
        const auto type = varint(types, at);
        if (!type || values.size() == most_columns) return std::nullopt;
        auto value = value_of(*type, payload, body);
        if (!value) return std::nullopt;
        values.push_back(std::move(*value));
    }
    return values;
}

void scan_page(Pages& pages, const Page& page, std::size_t header, const std::function<void(const FoundRow&)>& take) {
    constexpr std::uint8_t table_leaf = 0x0D, index_leaf = 0x0A, index_inner = 0x02;
    const std::uint8_t type = page[header];
    if (type != table_leaf && type != index_leaf && type != index_inner) return;
    const std::size_t cells = big_endian(std::span{page}.subspan(header + 3, 2));
    const std::size_t pointers = header + (type == index_inner ? 12 : 8);
    for (std::size_t cell = 0; cell < cells && pointers + 2 * cell + 2 <= page_bytes; ++cell) {
        std::size_t at = big_endian(std::span{page}.subspan(pointers + 2 * cell, 2));
        if (type == index_inner) at += 4;
        const auto size = varint(page, at);
        if (!size) continue;
        FoundRow row;
        if (type == table_leaf) {
            const auto id = varint(page, at);
            if (!id) continue;
            row.row_id = static_cast<std::int64_t>(*id);
        }
        const auto payload = payload_at(pages, page, at, *size, type == table_leaf);
        if (!payload) continue;
        auto values = values_in(*payload);
        if (!values) continue;
        row.values = std::move(*values);
        take(row);
    }
}

}  // namespace

void scan_pages(const std::filesystem::path& file, const std::function<void(const FoundRow&)>& take) {
    Pages pages(file);
    Page page;
    for (std::uint32_t number = 1; number <= pages.count(); ++number)
        if (pages.read(number, page)) scan_page(pages, page, number == 1 ? 100 : 0, take);
}

}  // namespace proofwalk::log
