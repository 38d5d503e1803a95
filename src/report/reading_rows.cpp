#include "report/reading_rows.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

namespace proofwalk::report {

std::vector<std::optional<double>> arrivals_within_takes_s(const std::vector<ReadingRow>& rows) {
    std::vector<std::optional<double>> relative(rows.size());
    std::size_t first = 0;
    while (first < rows.size()) {
        std::set<std::pair<std::string, std::string>> heard;
        std::optional<double> earliest;
        std::size_t end = first;
        for (; end < rows.size(); ++end) {
            const auto& taken = rows[end].taken;
            if (taken.take != rows[first].taken.take || !heard.emplace(taken.circuit, taken.mic).second) break;
            const auto& arrival = taken.reading.arrival_s;
            if (arrival && std::isfinite(arrival->value)) earliest = std::min(earliest.value_or(arrival->value), arrival->value);
        }
        for (std::size_t i = first; i < end; ++i) {
            const auto& arrival = rows[i].taken.reading.arrival_s;
            if (earliest && arrival && std::isfinite(arrival->value)) relative[i] = arrival->value - *earliest;
        }
        first = end;
    }
    return relative;
}

std::string flag_words(Flags flags, std::string_view between) {
    return fmt::format("{}", fmt::join(words(flags), between));
}

std::string_view level_reference(const signal::Reading& reading) {
    return reading.calibrated ? "dB SPL" : "dB re the reference channel";
}

}  // namespace proofwalk::report
