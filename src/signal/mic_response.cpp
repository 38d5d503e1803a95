#include <algorithm>
#include <charconv>
#include <cmath>
#include <optional>
#include <string>
#include <string_view>

#include "signal/measure.hpp"

namespace proofwalk::signal {

namespace {

constexpr double largest_db = 60.0;

// Numbers of one line. "1000,5 -0,3" has decimal commas; "1000,-0.3" and "1000, -0.3" have separating ones.
std::optional<std::vector<double>> numbers_of(std::string_view line) {
    std::string text(line);
    std::ranges::replace(text, '\t', ' ');
    std::ranges::replace(text, ';', ' ');
    const bool has_points = text.find('.') != std::string::npos;
    const bool has_spaces = text.find_first_not_of(' ') != std::string::npos &&
                            text.substr(text.find_first_not_of(' '), text.find_last_not_of(' ') + 1 - text.find_first_not_of(' ')).find(' ') != std::string::npos;
    for (std::size_t n = 0; n < text.size(); ++n) {
        if (text[n] != ',') continue;
        const bool between_digits = n > 0 && n + 1 < text.size() && std::isdigit(static_cast<unsigned char>(text[n - 1])) != 0 &&
                                    std::isdigit(static_cast<unsigned char>(text[n + 1])) != 0;
        text[n] = !has_points && has_spaces && between_digits ? '.' : ' ';
    }
    std::vector<double> numbers;
    const char* at = text.data();
    const char* const end = at + text.size();
    while (true) {
        while (at < end && *at == ' ') ++at;
        if (at == end) return numbers;
        if (*at == '+') ++at;
        double number = 0.0;
        const auto [next, error] = std::from_chars(at, end, number);
        if (error != std::errc{} || (next < end && *next != ' ')) return std::nullopt;
        numbers.push_back(number);
        at = next;
    }
}

}  // namespace

Result<MicResponse> mic_response_from_text(std::string_view text, std::string_view file) {
    const auto refused = [&](std::size_t line, std::string reason) {
        return std::unexpected(Fault{FaultKind::input, std::string(file), line == 0 ? std::string() : "line " + std::to_string(line),
                                     std::move(reason), "give two columns: frequency in Hz and the mic's response in dB"});
    };
    std::vector<std::pair<double, double>> points;
    std::size_t line_number = 0;
    bool table_begun = false;
    if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
    while (!text.empty()) {
        ++line_number;
        const std::size_t end = std::min(text.find_first_of("\r\n"), text.size());
        std::string_view line = text.substr(0, end);
        const std::size_t skip = end < text.size() && text[end] == '\r' && end + 1 < text.size() && text[end + 1] == '\n' ? 2 : 1;
        text.remove_prefix(std::min(text.size(), end + skip));
        const std::size_t start = line.find_first_not_of(" \t");
        if (start == std::string_view::npos) continue;
        line.remove_prefix(start);
        if (line.front() == '#' || line.front() == '*' || line.front() == ';' || line.front() == '"' || line.front() == '/') continue;
        if (const auto comment = line.find_first_of("#*"); comment != std::string_view::npos) line = line.substr(0, comment);
        while (!line.empty() && (line.back() == ' ' || line.back() == '\t')) line.remove_suffix(1);

        const auto numbers = numbers_of(line);
        if (!numbers) {
            if (!table_begun) continue;  // a heading above the table
            return refused(line_number, "this is not two numbers");
        }
        if (numbers->size() < 2) return refused(line_number, "there are fewer than two numbers");
        table_begun = true;
        const double hz = (*numbers)[0], db = (*numbers)[1];
        if (!std::isfinite(hz) || !std::isfinite(db) || hz <= 0.0 || hz > 1e6) return refused(line_number, "the frequency cannot be");
        if (std::abs(db) > largest_db) return refused(line_number, "the response is more than 60 dB off");
        points.emplace_back(hz, db);
    }
    std::ranges::stable_sort(points, {}, &std::pair<double, double>::first);
    MicResponse response;
    for (const auto& [hz, db] : points) {
        if (!response.hz.empty() && response.hz.back() == hz) {
            if (std::abs(response.db.back() - db) > 0.5) return refused(0, "one frequency stands there twice with different values");
            continue;
        }
        response.hz.push_back(hz);
        response.db.push_back(db);
    }
    if (response.hz.size() < 2) return refused(0, "there are fewer than two points");
    return response;
}

}  // namespace proofwalk::signal
