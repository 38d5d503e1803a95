#include "units/nearest.hpp"

namespace proofwalk {

std::string nearest_remedy(std::string_view word, std::span<const std::string_view> known, std::string_view kind) {
    const std::string_view nearest = nearest_word(word, known);
    if (nearest.empty()) return {};
    const std::string in_quotes = "\"" + std::string(nearest) + "\"";
    const std::size_t close = std::max<std::size_t>(2, word.size() / 3);
    if (edit_distance(word, nearest) <= close) return "did you mean " + in_quotes + "?";
    return "the nearest known " + std::string(kind) + " is " + in_quotes;
}

}  // namespace proofwalk
