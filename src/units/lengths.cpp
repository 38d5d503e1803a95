#include "units/lengths.hpp"

#include <charconv>
#include <cmath>
#include <cstdio>

#include "units/convert.hpp"

namespace proofwalk {
namespace {

class Scanner {
public:
    explicit Scanner(std::string_view text) : rest_(text) { skip(); }

    [[nodiscard]] bool empty() const { return rest_.empty(); }
    bool take(std::string_view word) {
        if (!rest_.starts_with(word)) return false;
        rest_.remove_prefix(word.size());
        skip();
        return true;
    }
    // A number without sign: digits with or without a decimal point.
    std::optional<double> number() {
        double value = 0.0;
        if (rest_.empty() || !(rest_[0] == '.' || (rest_[0] >= '0' && rest_[0] <= '9'))) return std::nullopt;
        const auto [end, error] = std::from_chars(rest_.data(), rest_.data() + rest_.size(), value, std::chars_format::fixed);
        if (error != std::errc{}) return std::nullopt;
        rest_.remove_prefix(static_cast<std::size_t>(end - rest_.data()));
        skip();
        return value;
    }
    // "6", "6.5", "6 1/2", "1/2"
    std::optional<double> mixed() {
        const auto first = number();
        if (!first) return std::nullopt;
        if (take("/")) return divided(*first);
        const std::string_view before = rest_;
        if (const auto second = number()) {
            if (take("/"))
                if (const auto part = divided(*second)) return *first + *part;
            rest_ = before;
        }
        return first;
    }

private:
    std::optional<double> divided(double upper) {
        const auto lower = number();
        if (!lower || *lower == 0.0) return std::nullopt;
        return upper / *lower;
    }
    void skip() {
        while (!rest_.empty() && (rest_[0] == ' ' || rest_[0] == '\t')) rest_.remove_prefix(1);
    }
    std::string_view rest_;
};

bool take_feet(Scanner& scan) { return scan.take("feet") || scan.take("foot") || scan.take("ft") || scan.take("'"); }
bool take_inches(Scanner& scan) { return scan.take("inches") || scan.take("inch") || scan.take("in") || scan.take("\""); }

}  // namespace

std::optional<double> length_from_text(std::string_view text, LengthUnit bare) {
    Scanner scan(text);
    const double sign = scan.take("-") ? -1.0 : 1.0;
    if (sign > 0.0) scan.take("+");
    const auto first = scan.mixed();
    if (!first) return std::nullopt;
    std::optional<double> metres;
    if (take_feet(scan)) {
        metres = *first * metres_per_foot;
        if (!scan.empty()) {
            const auto inches = scan.mixed();
            if (!inches || !take_inches(scan)) return std::nullopt;
            *metres += *inches * metres_per_inch;
        }
    } else if (take_inches(scan)) {
        metres = *first * metres_per_inch;
    } else if (scan.take("mm")) {
        metres = *first / 1000.0;
    } else if (scan.take("cm")) {
        metres = *first / 100.0;
    } else if (scan.take("m")) {
        metres = *first;
    } else {
        metres = *first * (bare == LengthUnit::feet ? metres_per_foot : 1.0);
    }
    if (!scan.empty() || !std::isfinite(*metres)) return std::nullopt;
    return sign * *metres;
}

std::string length_text(double metres, LengthUnit unit) {
    char text[64];
    if (unit == LengthUnit::metres) {
        std::snprintf(text, sizeof text, "%.2f m", metres);
        return text;
    }
    constexpr long per_inch = 4, per_foot = 12 * per_inch;
    const long quarters = std::lround(std::abs(metres) / metres_per_inch * static_cast<double>(per_inch));
    const long feet = quarters / per_foot, inches = quarters % per_foot / per_inch, part = quarters % per_inch;
    static constexpr const char* parts[] = {"", " 1/4", " 1/2", " 3/4"};
    std::snprintf(text, sizeof text, "%s%ld' %ld%s\"", metres < 0.0 && quarters > 0 ? "-" : "", feet, inches, parts[part]);
    return text;
}

}  // namespace proofwalk
