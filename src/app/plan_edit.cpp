#include "app/plan_edit.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

namespace proofwalk::app {
namespace {

constexpr std::size_t most_steps = 500;

struct Line {
    std::size_t begin = 0, end = 0;  // without its line break
};

std::vector<Line> lines_of(std::string_view text) {
    std::vector<Line> lines;
    for (std::size_t at = 0; at < text.size();) {
        const std::size_t end = std::min(text.find('\n', at), text.size());
        lines.push_back({at, end});
        at = end + 1;
    }
    return lines;
}

std::string_view trimmed(std::string_view text) {
    const std::size_t first = text.find_first_not_of(" \t\r");
    if (first == std::string_view::npos) return {};
    return text.substr(first, text.find_last_not_of(" \t\r") - first + 1);
}

// Where a comment begins, outside of strings; the length when there is none.
std::size_t comment_at(std::string_view line) {
    char quote = 0;
    for (std::size_t i = 0; i < line.size(); ++i) {
        if (quote != 0) {
            if (line[i] == '\\' && quote == '"') ++i;
            else if (line[i] == quote) quote = 0;
        } else if (line[i] == '"' || line[i] == '\'') {
            quote = line[i];
        } else if (line[i] == '#') {
            return i;
        }
    }
    return line.size();
}

struct KeyValue {
    std::string_view key, value;  // trimmed, without comment
    std::size_t value_from = 0;   // inside the line
};
std::optional<KeyValue> key_value(std::string_view line) {
    const std::size_t end = comment_at(line), equals = line.substr(0, end).find('=');
    if (equals == std::string_view::npos) return std::nullopt;
    std::size_t from = equals + 1;
    while (from < end && line[from] == ' ') ++from;
    return KeyValue{trimmed(line.substr(0, equals)), trimmed(line.substr(from, end - from)), from};
}

bool balanced(std::string_view value) {
    int depth = 0;
    for (const char c : value) depth += c == '[' || c == '{' ? 1 : c == ']' || c == '}' ? -1 : 0;
    return depth == 0;
}

}  // namespace

std::optional<std::string> with_value(std::string_view text, PlanTable table, std::string_view id, std::string_view key,
                                      std::string_view value) {
    const std::string_view header = table == PlanTable::box ? "[[box]]" : "[[position]]";
    const auto lines = lines_of(text);
    const auto line_text = [&](std::size_t i) { return text.substr(lines[i].begin, lines[i].end - lines[i].begin); };
    const auto bare = [&](std::size_t i) { return trimmed(line_text(i).substr(0, comment_at(line_text(i)))); };
    for (std::size_t start = 0; start < lines.size(); ++start) {
        if (bare(start) != header) continue;
        bool is_it = false;
        std::optional<std::size_t> found;
        std::size_t last = start, i = start + 1;
        for (; i < lines.size() && !bare(i).starts_with('['); ++i) {
            const auto entry = key_value(line_text(i));
            if (!entry) continue;
            last = i;
            if (entry->key == "id") is_it = entry->value == fmt::format("\"{}\"", id) || entry->value == fmt::format("'{}'", id);
            if (entry->key == key) found = i;
        }
        if (!is_it) continue;
        std::string result{text};
        if (found) {
            const auto entry = key_value(line_text(*found));
            if (!balanced(entry->value)) return std::nullopt;
            return result.replace(lines[*found].begin + entry->value_from, entry->value.size(), value);
        }
        // A last entry that goes over several lines has no end that this can see.
        if (const auto entry = key_value(line_text(last)); entry && !balanced(entry->value)) last = start;
        return result.insert(lines[last].end, fmt::format("\n{} = {}", key, value));
    }
    return std::nullopt;
}

Draft::Draft(std::string text, std::string folder) : text_(std::move(text)), first_(text_), folder_(std::move(folder)) {
    static_cast<void>(read(text_, nullptr));
}

bool Draft::read(const std::string& text, Faults* faults) {
    auto plan = plan::read(text, "the draft", folder_);
    if (!plan) {
        if (faults != nullptr) *faults = plan.error();
        return false;
    }
    plan_ = std::move(plan->plan);
    text_ = text;
    return true;
}

Checked<void> Draft::take(std::optional<std::string> text) {
    if (!text)
        return std::unexpected(Faults{{FaultKind::input, "the draft", "", "this figure stands in a form that can't be changed here",
                                       "change it in the plan's file"}});
    if (*text == text_) return {};
    std::string earlier = text_;
    Faults faults;
    if (!read(*text, &faults)) return std::unexpected(faults);
    before_.push_back(std::move(earlier));
    if (before_.size() > most_steps) before_.erase(before_.begin());
    after_.clear();
    return {};
}

Checked<void> Draft::set(PlanTable table, const std::string& id, const std::string& key, double value, int decimals) {
    return take(with_value(text_, table, id, key, fmt::format("{:.{}f}", value == 0.0 ? 0.0 : value, decimals)));
}

Checked<void> Draft::set_place(PlanTable table, const std::string& id, Vec3 at) {
    return take(with_value(text_, table, id, "at", fmt::format("[{:.3f}, {:.3f}, {:.3f}]", at.x, at.y, at.z)));
}

void Draft::undo() {
    if (before_.empty()) return;
    after_.push_back(text_);
    static_cast<void>(read(before_.back(), nullptr));
    before_.pop_back();
}

void Draft::redo() {
    if (after_.empty()) return;
    before_.push_back(text_);
    static_cast<void>(read(after_.back(), nullptr));
    after_.pop_back();
}

}  // namespace proofwalk::app
