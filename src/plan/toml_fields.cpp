#include "plan/toml_fields.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "units/nearest.hpp"

namespace proofwalk::plan {
namespace {

constexpr std::size_t longest_id = 64;

std::string kind_of(const toml::node& node) {
    switch (node.type()) {
        case toml::node_type::string: return "a text";
        case toml::node_type::integer: return "a whole number";
        case toml::node_type::floating_point: return "a number";
        case toml::node_type::boolean: return "true or false";
        case toml::node_type::array: return "a list";
        case toml::node_type::table: return "a table";
        case toml::node_type::none: return "nothing";
        default: return "a date or time";
    }
}

std::string listed(std::span<const std::string_view> words) {
    std::string text;
    for (const std::string_view word : words) text += (text.empty() ? "" : ", ") + std::string(word);
    return text;
}

}  // namespace

void Findings::fault(int line, std::string reason, std::string remedy) {
    faults.push_back({FaultKind::input, file, line > 0 ? fmt::format("line {}", line) : "", std::move(reason), std::move(remedy)});
}

void Findings::warn(int line, const std::string& text) {
    warnings.push_back(line > 0 ? fmt::format("line {}: {}", line, text) : text);
}

int line_of(const toml::node& node) { return static_cast<int>(node.source().begin.line); }
std::string in_quotes(std::string_view text) { return "\"" + std::string(text) + "\""; }
std::string number_text(double value) { return fmt::format("{}", value); }

Fields::Fields(Findings& findings, const toml::table* table, std::string section, std::span<const std::string_view> known)
    : findings_(findings), table_(table), section_(std::move(section)) {
    if (table_ == nullptr) return;
    for (const auto& [key, value] : *table_) {
        if (std::ranges::find(known, key.str()) != known.end()) continue;
        findings_.fault(static_cast<int>(key.source().begin.line), fmt::format("unknown key {} in {}", in_quotes(key.str()), section_),
                        nearest_remedy(key.str(), known, "key"));
    }
}

const toml::node* Fields::node(std::string_view key) const { return table_ == nullptr ? nullptr : table_->get(key); }
bool Fields::has(std::string_view key) const { return node(key) != nullptr; }
int Fields::line(std::string_view key) const { return has(key) ? line_of(*node(key)) : line(); }
int Fields::line() const { return table_ == nullptr ? 0 : line_of(*table_); }
void Fields::name_after(const std::string& id) {
    if (!id.empty()) section_ += " " + in_quotes(id);
}
void Fields::fault(std::string_view key, std::string reason, std::string remedy) {
    findings_.fault(line(key), fmt::format("{}: {}", section_, reason), std::move(remedy));
}
void Fields::missing(std::string_view key) { fault(key, fmt::format("the key {} is missing", in_quotes(key)), "add it"); }

std::optional<double> Fields::finite(const toml::node& value, std::string_view key, Limits limits) {
    const auto refuse = [&](std::string reason, std::string remedy) {
        findings_.fault(line_of(value), fmt::format("{}: {} {}", section_, key, reason), std::move(remedy));
        return std::nullopt;
    };
    if (!value.is_number()) return refuse(fmt::format("must be a number, found {}", kind_of(value)), "");
    const double number = *value.value<double>();
    if (!std::isfinite(number)) return refuse("is not a finite number", "write the number out");
    if (number < limits.low || number > limits.high)
        return refuse(fmt::format("= {} is out of range", number),
                      fmt::format("it lies between {} and {}{}{}", limits.low, limits.high, limits.unit.empty() ? "" : " ", limits.unit));
    return number;
}

double Fields::number(std::string_view key, double otherwise, Limits limits) {
    return optional_number(key, limits).value_or(otherwise);
}

double Fields::needed_number(std::string_view key, Limits limits) {
    if (!has(key)) missing(key);
    return number(key, std::clamp(1.0, limits.low, limits.high), limits);
}

std::optional<double> Fields::optional_number(std::string_view key, Limits limits) {
    const toml::node* value = node(key);
    return value == nullptr ? std::nullopt : finite(*value, key, limits);
}

std::optional<int> Fields::optional_integer(std::string_view key, int low, int high) {
    const toml::node* value = node(key);
    if (value == nullptr) return std::nullopt;
    if (!value->is_integer()) {
        fault(key, fmt::format("{} must be a whole number, found {}", key, kind_of(*value)));
        return std::nullopt;
    }
    const auto number = finite(*value, key, {static_cast<double>(low), static_cast<double>(high), ""});
    return number ? std::optional(static_cast<int>(*number)) : std::nullopt;
}

bool Fields::boolean(std::string_view key, bool otherwise) {
    const toml::node* value = node(key);
    if (value == nullptr) return otherwise;
    if (!value->is_boolean()) fault(key, fmt::format("{} must be true or false, found {}", key, kind_of(*value)));
    return value->value<bool>().value_or(otherwise);
}

std::string Fields::text(std::string_view key, std::string otherwise) {
    const toml::node* value = node(key);
    if (value == nullptr) return otherwise;
    if (!value->is_string()) {
        fault(key, fmt::format("{} must be a text, found {}", key, kind_of(*value)), "put it in quotes");
        return otherwise;
    }
    return **value->as_string();
}

std::string Fields::needed_text(std::string_view key) {
    if (!has(key)) {
        missing(key);
        return {};
    }
    std::string found = text(key, "");
    if (found.empty() && node(key)->is_string()) fault(key, fmt::format("{} is empty", key), "give it a name");
    return found;
}

std::string Fields::id() {
    std::string found = needed_text("id");
    if (found.find('+') != std::string::npos)
        fault("id", fmt::format("id {} contains \"+\", which joins the two boxes of a pair", in_quotes(found)), "choose an id without it");
    if (std::ranges::any_of(found, [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7f; }))
        fault("id", "id contains a character that cannot be printed", "use letters and digits");
    if (found.size() > longest_id) fault("id", fmt::format("id is longer than {} characters", longest_id), "shorten it");
    name_after(found);
    return found;
}

std::optional<std::vector<double>> Fields::numbers(std::string_view key, std::size_t count, std::string_view shape, Limits limits) {
    const toml::node* value = node(key);
    if (value == nullptr) return std::nullopt;
    const toml::array* list = value->as_array();
    if (list == nullptr || list->size() != count) {
        const std::string found = list == nullptr ? kind_of(*value) : fmt::format("{} of them", list->size());
        fault(key, fmt::format("{} must be {} numbers, found {}", key, count, found), fmt::format("write {} = {}", key, shape));
        return std::nullopt;
    }
    std::vector<double> found;
    for (const toml::node& item : *list)
        if (const auto number = finite(item, key, limits)) found.push_back(*number);
    if (found.size() != count) return std::nullopt;
    return found;
}

Vec3 Fields::needed_point(std::string_view key) {
    constexpr Limits reach{-1000.0, 1000.0, "m"};
    if (!has(key)) missing(key);
    const auto found = numbers(key, 3, "[x, y, z]", reach);
    return found ? Vec3{(*found)[0], (*found)[1], (*found)[2]} : Vec3{};
}

std::optional<Vec3> Fields::optional_triple(std::string_view key, Limits limits) {
    const auto found = numbers(key, 3, "[width, height, depth]", limits);
    if (!found) return std::nullopt;
    return Vec3{(*found)[0], (*found)[1], (*found)[2]};
}

std::optional<Band> Fields::optional_band(std::string_view key) {
    const auto found = numbers(key, 2, "[low, high]", {10.0, 40000.0, "Hz"});
    if (!found) return std::nullopt;
    if ((*found)[0] >= (*found)[1]) {
        fault(key, fmt::format("{} starts at {} Hz and ends at {} Hz", key, (*found)[0], (*found)[1]), "put the lower frequency first");
        return std::nullopt;
    }
    return Band{(*found)[0], (*found)[1]};
}

std::vector<std::string> Fields::texts(std::string_view key, bool needed) {
    const toml::node* value = node(key);
    if (value == nullptr) {
        if (needed) missing(key);
        return {};
    }
    const toml::array* list = value->as_array();
    if (list == nullptr) {
        fault(key, fmt::format("{} must be a list, found {}", key, kind_of(*value)), fmt::format("write {} = [\"...\"]", key));
        return {};
    }
    std::vector<std::string> found;
    for (const toml::node& item : *list) {
        if (item.is_string())
            found.push_back(**item.as_string());
        else
            findings_.fault(line_of(item), fmt::format("{}: {} holds {} where a text is wanted", section_, key, kind_of(item)), "put it in quotes");
    }
    return found;
}

void Fields::bad_word(std::string_view key, const std::string& found, std::span<const std::string_view> words, std::string_view kind) {
    fault(key, fmt::format("unknown {} {} (known: {})", kind, in_quotes(found), listed(words)), nearest_remedy(found, words, kind));
}

}  // namespace proofwalk::plan
