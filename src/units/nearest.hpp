// The known word that a person most likely meant: smallest edit distance (insert, delete, replace, swap of two
// neighbours each count 1), the first of equals. Words beyond 64 characters are compared by their first 64.
#pragma once

#include <algorithm>
#include <array>
#include <cstddef>
#include <span>
#include <string>
#include <string_view>

namespace proofwalk {

inline constexpr std::size_t longest_compared_word = 64;

// Optimal string alignment distance.
[[nodiscard]] inline std::size_t edit_distance(std::string_view a, std::string_view b) {
    a = a.substr(0, longest_compared_word);
    b = b.substr(0, longest_compared_word);
    std::array<std::array<std::size_t, longest_compared_word + 1>, 3> rows{};
    for (std::size_t j = 0; j <= b.size(); ++j) rows[0][j] = j;
    for (std::size_t i = 1; i <= a.size(); ++i) {
        auto& row = rows[i % 3];
        const auto& before = rows[(i + 2) % 3];
        const auto& two_before = rows[(i + 1) % 3];
        row[0] = i;
        for (std::size_t j = 1; j <= b.size(); ++j) {
            row[j] = std::min({before[j] + 1, row[j - 1] + 1, before[j - 1] + (a[i - 1] == b[j - 1] ? 0u : 1u)});
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
                row[j] = std::min(row[j], two_before[j - 2] + 1);
        }
    }
    return rows[a.size() % 3][b.size()];
}

// `known` is any range of things that convert to std::string_view. Empty when there are none.
template <class Range>
[[nodiscard]] std::string_view nearest_word(std::string_view word, const Range& known) {
    std::string_view best;
    std::size_t best_distance = static_cast<std::size_t>(-1);
    for (const auto& candidate : known) {
        const std::string_view text{candidate};
        const std::size_t distance = edit_distance(word, text);
        if (distance < best_distance) {
            best = text;
            best_distance = distance;
        }
    }
    return best;
}

// A remedy for a fault: `did you mean "gain_db"?` when the word is close, else `the nearest known key is "gain_db"`, where
// `kind` names what is known ("key", "role", "box"). Empty when nothing is known.
[[nodiscard]] std::string nearest_remedy(std::string_view word, std::span<const std::string_view> known,
                                         std::string_view kind);

}  // namespace proofwalk
