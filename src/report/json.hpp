// Pieces of JSON that several documents share. Only this folder writes JSON; only its .cpp files include this.
#pragma once

#include <nlohmann/json.hpp>

#include <cmath>
#include <optional>
#include <string>

#include "units/measured.hpp"

namespace proofwalk::report {

using Json = nlohmann::ordered_json;

// null where there is no finite figure.
[[nodiscard]] inline Json number(double value) { return std::isfinite(value) ? Json(value) : Json(nullptr); }
[[nodiscard]] inline Json number(std::optional<double> value) { return value ? number(*value) : Json(nullptr); }

// Bytes that are not UTF-8 become U+FFFD instead of a failure.
[[nodiscard]] inline std::string dumped(const Json& json) {
    return json.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace proofwalk::report
