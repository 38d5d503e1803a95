// A moment as records carry it: seconds since 1970-01-01T00:00:00Z and the local offset at the place of the record.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace proofwalk {

struct Moment {
    std::int64_t utc_s = 0;
    std::int32_t offset_min = 0;  // local time minus UTC

    friend constexpr bool operator==(const Moment&, const Moment&) = default;
};

[[nodiscard]] Moment now();
// "2026-05-02T15:04:05+02:00" ("Z" for offset 0), RFC 3339.
[[nodiscard]] std::string to_text(Moment moment);
[[nodiscard]] std::optional<Moment> moment_from_text(std::string_view text);

}  // namespace proofwalk
