#include "report/wording.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>

#include "report/text_width.hpp"

namespace proofwalk::report {
namespace {

// Columns in front of the decimal point, or of the end of the first number.
int columns_before_point(const std::string& figure) {
    const std::size_t end = std::min({figure.find('.'), figure.find(' '), figure.find("\u00b0"), figure.size()});
    return columns_of(std::string_view(figure).substr(0, end));
}

}  // namespace

std::string value_of(const verify::CheckResult& check) {
    if (check.kind == plan::CheckKind::sounding && check.value)
        return with_unit(with_uncertainty(check.value, check.uncertainty, "", Sign::when_negative), check.unit);
    return with_unit(with_uncertainty(check.value, check.uncertainty, check.unit), check.unit);
}

std::string limit_of(const verify::CheckResult& check) {
    if (check.tolerance && *check.tolerance > 0.0)
        return with_unit(std::string(plus_minus) + fixed(*check.tolerance, usual_decimals(check.unit)), check.unit);
    if (check.kind == plan::CheckKind::polarity && check.target) return fixed(*check.target, 0, Sign::always);
    return {};
}

std::string with_real_signs(std::string_view text) {
    const auto is_digit = [&](std::size_t at) { return at < text.size() && std::isdigit(static_cast<unsigned char>(text[at])) != 0; };
    constexpr std::string_view degrees_word = " deg";
    std::string out;
    for (std::size_t i = 0; i < text.size(); ++i) {
        const bool opens = i == 0 || text[i - 1] == ' ' || text[i - 1] == '(';
        const bool closes = i + degrees_word.size() == text.size() ||
                            (i + degrees_word.size() < text.size() && std::isalnum(static_cast<unsigned char>(text[i + degrees_word.size()])) == 0);
        if (text[i] == '-' && opens && is_digit(i + 1)) {
            out += minus_sign;
        } else if (i > 0 && is_digit(i - 1) && text.substr(i).starts_with(degrees_word) && closes) {
            out += "\u00b0";
            i += degrees_word.size() - 1;
        } else {
            out += text[i];
        }
    }
    return out;
}

std::string sentence_case(std::string_view text) {
    std::string sentence = with_real_signs(text);
    if (!sentence.empty()) sentence[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(sentence[0])));
    return sentence;
}

std::string joined(const std::vector<std::string>& words, std::string_view between) {
    return fmt::format("{}", fmt::join(words, between));
}

std::string counted(std::size_t count, std::string_view one, std::string_view several) {
    return fmt::format("{} {}", count, count == 1 ? one : several);
}

std::vector<CheckGroup> grouped_alike(const std::vector<const verify::CheckResult*>& checks) {
    std::vector<CheckGroup> groups;
    for (const auto* check : checks) {
        const auto alike = std::ranges::find_if(groups, [&](const CheckGroup& group) {
            return group.front()->says == check->says && group.front()->advice == check->advice;
        });
        if (alike == groups.end()) groups.push_back({check});
        else alike->push_back(check);
    }
    return groups;
}

std::string short_hash(const std::string& sha256) { return sha256.substr(0, 8); }

std::vector<std::string> aligned_on_point(std::vector<std::string> figures) {
    int widest = 0;
    for (const auto& figure : figures) widest = std::max(widest, columns_before_point(figure));
    for (auto& figure : figures)
        figure.insert(0, static_cast<std::size_t>(widest - columns_before_point(figure)), ' ');
    return figures;
}

std::string fitted(std::optional<double> value, std::optional<double> u, std::string_view unit, Sign sign) {
    return with_unit(with_uncertainty(value, u, unit, sign), unit);
}

}  // namespace proofwalk::report
