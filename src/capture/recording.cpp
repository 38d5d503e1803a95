#include "capture/recording.hpp"

#include <array>
#include <bit>
#include <cstddef>
#include <cstdint>
#include <cstring>

#include <fmt/format.h>

#include "units/sha256.hpp"

namespace proofwalk::capture {
namespace {

using signal::TakeKind;

constexpr std::array<std::pair<TakeKind, std::string_view>, 6> kinds = {{
    {TakeKind::sweep, "sweep"},
    {TakeKind::noise, "noise"},
    {TakeKind::silence, "silence"},
    {TakeKind::calibrator, "calibrator"},
    {TakeKind::loopback, "loopback"},
    {TakeKind::match, "match"},
}};

}  // namespace

std::string_view word(TakeKind kind) {
    for (const auto& [candidate, name] : kinds)
        if (candidate == kind) return name;
    return "";
}

std::optional<TakeKind> take_kind_from_word(std::string_view word) {
    for (const auto& [kind, name] : kinds)
        if (name == word) return kind;
    return std::nullopt;
}

std::string raw_sha256(double rate_hz, const std::vector<std::vector<float>>& channels) {
    static_assert(std::endian::native == std::endian::little, "the canonical raw form is little-endian");
    std::string bytes = fmt::format("proofwalk.raw/1 {} {}\n", rate_hz, channels.size());
    std::size_t size = bytes.size();
    for (const auto& channel : channels) size += 8 + channel.size() * sizeof(float);
    bytes.reserve(size);
    for (const auto& channel : channels) {
        const std::uint64_t count = channel.size();
        bytes.append(reinterpret_cast<const char*>(&count), sizeof count);
        bytes.append(reinterpret_cast<const char*>(channel.data()), channel.size() * sizeof(float));
    }
    return sha256(bytes);
}

}  // namespace proofwalk::capture
