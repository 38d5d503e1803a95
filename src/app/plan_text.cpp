#include "app/plan_text.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace proofwalk::app {
namespace {

std::string_view header_of(PlanTable table) {
    switch (table) {
        case PlanTable::model: return "[[model]]";
        case PlanTable::box: return "[[box]]";
        case PlanTable::array: return "[[array]]";
        case PlanTable::position: break;
    }
    return "[[position]]";
}

std::string_view trimmed(std::string_view text) {
    const std::size_t first = text.find_first_not_of(" \t\r\n");
    if (first == std::string_view::npos) return {};
    return text.substr(first, text.find_last_not_of(" \t\r\n") - first + 1);
}

std::size_t line_end(std::string_view text, std::size_t at) { return std::min(text.find('\n', at), text.size()); }
std::size_t line_begin(std::string_view text, std::size_t at) {
    const std::size_t before = at == 0 ? std::string_view::npos : text.rfind('\n', at - 1);
    return before == std::string_view::npos ? 0 : before + 1;
}

// Behind a string that begins at `at`, in any of TOML's four forms.
std::size_t behind_string(std::string_view text, std::size_t at) {
    const char quote = text[at];
    if (text.substr(at, 3) == std::string(3, quote)) {
        const std::size_t end = text.find(std::string(3, quote), at + 3);
        return end == std::string_view::npos ? text.size() : end + 3;
    }
    for (std::size_t i = at + 1; i < text.size() && text[i] != '\n'; ++i) {
        if (text[i] == '\\' && quote == '"') ++i;
        else if (text[i] == quote) return i + 1;
    }
    return line_end(text, at);
}

// Behind a value that begins at `at`: over lines while brackets are open, without a comment and spaces after it.
std::size_t behind_value(std::string_view text, std::size_t at) {
    int depth = 0;
    std::size_t end = at;
    for (std::size_t i = at; i < text.size();) {
        const char c = text[i];
        if (c == '"' || c == '\'') {
            i = end = behind_string(text, i);
            continue;
        }
        if (c == '#') {
            if (depth == 0) return end;
            i = line_end(text, i);
            continue;
        }
        if (c == '\n' && depth == 0) return end;
        if (c == '[' || c == '{') ++depth;
        if (c == ']' || c == '}') --depth;
        ++i;
        if (c != ' ' && c != '\t' && c != '\r') end = i;
    }
    return end;
}

// One header or one key with its value.
struct Entry {
    bool header = false;
    std::string_view name;
    std::size_t begin = 0;   // of its first line
    TextSpan value;
    std::size_t end = 0;     // of its last line, without the line break
};

std::vector<Entry> entries_of(std::string_view text) {
    std::vector<Entry> entries;
    for (std::size_t at = 0; at < text.size();) {
        const std::size_t end = line_end(text, at), first = std::min(text.find_first_not_of(" \t\r", at), end);
        if (first == end || text[first] == '#') {
            at = end + 1;
            continue;
        }
        Entry entry;
        entry.begin = at;
        if (text[first] == '[') {
            entry.header = true;
            const std::size_t close = std::min(text.find('#', first), end);
            entry.name = trimmed(text.substr(first, close - first));
            entry.end = end;
        } else {
            std::size_t equals = first;
            while (equals < end && text[equals] != '=') equals = text[equals] == '"' || text[equals] == '\'' ? behind_string(text, equals) : equals + 1;
            if (equals >= end) {
                at = end + 1;
                continue;
            }
            entry.name = trimmed(text.substr(first, equals - first));
            entry.value.begin = std::min(text.find_first_not_of(" \t", equals + 1), text.size());
            entry.value.end = behind_value(text, entry.value.begin);
            entry.end = line_end(text, entry.value.end);
        }
        at = entry.end + 1;
        entries.push_back(entry);
    }
    return entries;
}

// The entries of one table: its header first, its sub-tables last.
struct Table {
    std::vector<Entry> entries;
    std::size_t own = 0;  // how many are the header and keys of its own
};

bool is_word(std::string_view written, std::string_view word) {
    return written == toml_word(word) || written == fmt::format("'{}'", word);
}

std::vector<Table> tables_of(std::string_view text, PlanTable kind) {
    const std::string_view header = header_of(kind);
    const std::string_view stem = header.substr(2, header.size() - 4);
    const auto below = [&](std::string_view name) {
        const std::size_t first = std::min(name.find_first_not_of('['), name.size());
        return name.substr(first).starts_with(stem) && name.substr(first + stem.size()).starts_with('.');
    };
    std::vector<Table> tables;
    bool inside = false;
    for (const Entry& entry : entries_of(text)) {
        if (entry.header) {
            if (entry.name == header) {
                tables.emplace_back();
                inside = true;
            } else if (!below(entry.name)) {
                inside = false;
            }
        }
        if (!inside) continue;
        Table& table = tables.back();
        table.entries.push_back(entry);
        if (table.own + 1 == table.entries.size() && (!entry.header || table.own == 0)) ++table.own;
    }
    return tables;
}

std::optional<Table> table_of(std::string_view text, PlanTable kind, std::string_view id) {
    for (Table& table : tables_of(text, kind))
        for (std::size_t i = 1; i < table.own; ++i)
            if (table.entries[i].name == "id" && is_word(table.entries[i].value.of(text), id)) return std::move(table);
    return std::nullopt;
}

const Entry* key_of(const Table& table, std::string_view key) {
    for (std::size_t i = 1; i < table.own; ++i)
        if (table.entries[i].name == key) return &table.entries[i];
    return nullptr;
}

// Lines of comment right above a line belong to it.
std::size_t with_comment_above(std::string_view text, std::size_t begin) {
    while (begin > 0) {
        const std::size_t above = line_begin(text, begin - 1);
        if (!trimmed(text.substr(above, begin - above)).starts_with('#')) break;
        begin = above;
    }
    return begin;
}

bool blank_between(std::string_view text, std::size_t from, std::size_t to) { return trimmed(text.substr(from, to - from)).empty(); }

}  // namespace

std::string toml_word(std::string_view word) {
    std::string text = "\"";
    for (const char c : word) {
        if (c == '"' || c == '\\') text += '\\';
        if (static_cast<unsigned char>(c) < 0x20) text += fmt::format("\\u{:04x}", static_cast<unsigned>(c));
        else text += c;
    }
    return text + '"';
}

std::optional<TextSpan> value_of(std::string_view text, PlanTable kind, std::string_view id, std::string_view key) {
    const auto table = table_of(text, kind, id);
    if (!table) return std::nullopt;
    const Entry* entry = key_of(*table, key);
    if (entry == nullptr) return std::nullopt;
    return entry->value;
}

std::optional<std::string> with_value(std::string_view text, PlanTable kind, std::string_view id, std::string_view key, std::string_view value) {
    const auto table = table_of(text, kind, id);
    if (!table) return std::nullopt;
    std::string result{text};
    if (const Entry* entry = key_of(*table, key)) return result.replace(entry->value.begin, entry->value.end - entry->value.begin, value);
    return result.insert(table->entries[table->own - 1].end, fmt::format("\n{} = {}", key, value));
}

std::optional<std::string> without_key(std::string_view text, PlanTable kind, std::string_view id, std::string_view key) {
    const auto table = table_of(text, kind, id);
    if (!table) return std::nullopt;
    std::string result{text};
    if (const Entry* entry = key_of(*table, key)) result.erase(entry->begin, std::min(entry->end + 1, result.size()) - entry->begin);
    return result;
}

std::optional<TextSpan> table_span(std::string_view text, PlanTable kind, std::string_view id) {
    const auto table = table_of(text, kind, id);
    if (!table) return std::nullopt;
    return TextSpan{with_comment_above(text, table->entries.front().begin), table->entries.back().end};
}

std::optional<std::string> without_table(std::string_view text, PlanTable kind, std::string_view id) {
    const auto span = table_span(text, kind, id);
    if (!span) return std::nullopt;
    std::size_t end = std::min(span->end + 1, text.size());
    while (end < text.size() && blank_between(text, end, line_end(text, end))) end = std::min(line_end(text, end) + 1, text.size());
    std::string result{text};
    return result.erase(span->begin, end - span->begin);
}

std::string with_table(std::string_view text, PlanTable kind, std::string_view after_id, std::string_view lines) {
    std::optional<std::size_t> end;
    if (const auto table = table_of(text, kind, after_id)) end = table->entries.back().end;
    else if (const auto tables = tables_of(text, kind); !tables.empty()) end = tables.back().entries.back().end;
    std::string result{text};
    if (end) return result.insert(*end, fmt::format("\n\n{}", lines));
    while (result.ends_with('\n')) result.pop_back();
    return fmt::format("{}{}{}\n", result, result.empty() ? "" : "\n\n", lines);
}

std::vector<TextSpan> elements_of(std::string_view text, TextSpan list) {
    std::vector<TextSpan> elements;
    int depth = 0;
    std::optional<TextSpan> now;
    const auto close = [&] {
        if (now) elements.push_back(*now);
        now.reset();
    };
    for (std::size_t i = list.begin; i < list.end;) {
        const char c = text[i];
        std::size_t next = i + 1;
        if (c == '#') {
            i = line_end(text, i);
            continue;
        }
        if (c == '"' || c == '\'') next = behind_string(text, i);
        const bool opens = c == '[' || c == '{', closes = c == ']' || c == '}', space = c == ' ' || c == '\t' || c == '\n' || c == '\r';
        if (closes) --depth;
        if ((c == ',' && depth == 1) || (closes && depth == 0)) {
            close();
        } else if (depth >= 1 && !space) {
            if (!now) now = TextSpan{i, next};
            now->end = next;
        }
        if (opens) ++depth;
        i = next;
    }
    return elements;
}

std::string without_element(std::string_view text, TextSpan list, std::size_t index) {
    const auto elements = elements_of(text, list);
    std::string result{text};
    if (index >= elements.size()) return result;
    const TextSpan one = elements[index];
    std::size_t comma = one.end;
    while (comma < list.end && text[comma] != ',' && text[comma] != ']' && text[comma] != '#') ++comma;
    const std::size_t behind = text[comma] == ',' ? comma + 1 : one.end;
    const std::size_t begin = line_begin(text, one.begin), end = line_end(text, behind);
    const std::string_view rest = trimmed(text.substr(behind, end - behind));
    if (begin > list.begin && end < list.end && blank_between(text, begin, one.begin) && (rest.empty() || rest.starts_with('#')))
        return result.erase(begin, end + 1 - begin);  // a line of its own, with the comment on it
    if (index + 1 < elements.size()) return result.erase(one.begin, elements[index + 1].begin - one.begin);
    if (index > 0) return result.erase(elements[index - 1].end, one.end - elements[index - 1].end);
    return result.erase(one.begin, behind - one.begin);
}

std::string with_element(std::string_view text, TextSpan list, std::string_view element) {
    const auto elements = elements_of(text, list);
    std::string result{text};
    if (elements.empty()) return result.replace(list.begin, list.end - list.begin, fmt::format("[{}]", element));
    const TextSpan last = elements.back();
    const std::size_t begin = line_begin(text, last.begin);
    if (begin <= list.begin || line_end(text, last.end) >= list.end) return result.insert(last.end, fmt::format(", {}", element));
    std::size_t comma = last.end;
    while (comma < list.end && (text[comma] == ' ' || text[comma] == '\t')) ++comma;
    const bool has_comma = comma < list.end && text[comma] == ',';
    const std::string_view indent = text.substr(begin, last.begin - begin);
    result.insert(line_end(text, has_comma ? comma : last.end), fmt::format("\n{}{},", trimmed(indent).empty() ? indent : "  ", element));
    if (!has_comma) result.insert(last.end, ",");
    return result;
}

}  // namespace proofwalk::app
