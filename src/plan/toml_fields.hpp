// One table of a plan file read field by field: kind, range and spelling of every key are checked, every fault is kept
// with its line, and reading goes on with the default. Internal to the folder.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include <toml++/toml.h>

#include "plan/plan.hpp"
#include "units/fault.hpp"

namespace proofwalk::plan {

struct Limits {
    double low = 0.0;
    double high = 0.0;
    std::string_view unit;  // "m", "deg", ...
};

// What a reading collects.
struct Findings {
    std::string file;
    Faults faults;
    std::vector<std::string> warnings;

    void fault(int line, std::string reason, std::string remedy = {});
    void warn(int line, const std::string& text);
};

[[nodiscard]] int line_of(const toml::node& node);
[[nodiscard]] std::string in_quotes(std::string_view text);
// "20", "0.5", "-8.25": the shortest form that reads back the same.
[[nodiscard]] std::string number_text(double value);

class Fields {
public:
    // `table` may be null (the section is missing): every optional field then gets its default.
    Fields(Findings& findings, const toml::table* table, std::string section, std::span<const std::string_view> known);

    [[nodiscard]] bool has(std::string_view key) const;
    // The line of a key, or of its table where the key is missing.
    [[nodiscard]] int line(std::string_view key) const;
    [[nodiscard]] int line() const;
    void name_after(const std::string& id);  // "[[box]] M1" in later faults
    void fault(std::string_view key, std::string reason, std::string remedy = {});

    double number(std::string_view key, double otherwise, Limits limits);
    double needed_number(std::string_view key, Limits limits);
    std::optional<double> optional_number(std::string_view key, Limits limits);
    std::optional<int> optional_integer(std::string_view key, int low, int high);
    bool boolean(std::string_view key, bool otherwise);
    std::string text(std::string_view key, std::string otherwise);
    std::string needed_text(std::string_view key);
    std::string id();  // the key "id": present, printable, without "+"
    Vec3 needed_point(std::string_view key);
    std::optional<Vec3> optional_triple(std::string_view key, Limits limits);
    std::optional<Band> optional_band(std::string_view key);
    std::vector<std::string> texts(std::string_view key, bool needed);
    // One of some words; a fault with the nearest one otherwise.
    template <class Enum>
    Enum one_of(std::string_view key, Enum otherwise, std::optional<Enum> (*from)(std::string_view),
                std::span<const std::string_view> words, std::string_view kind);
    [[nodiscard]] const toml::node* node(std::string_view key) const;

private:
    void missing(std::string_view key);
    std::optional<double> finite(const toml::node& value, std::string_view key, Limits limits);
    std::optional<std::vector<double>> numbers(std::string_view key, std::size_t count, std::string_view shape, Limits limits);
    void bad_word(std::string_view key, const std::string& found, std::span<const std::string_view> words, std::string_view kind);

    Findings& findings_;
    const toml::table* table_;
    std::string section_;
};

template <class Enum>
Enum Fields::one_of(std::string_view key, Enum otherwise, std::optional<Enum> (*from)(std::string_view),
                    std::span<const std::string_view> words, std::string_view kind) {
    const std::string found = text(key, "");
    if (found.empty()) {
        if (has(key) && node(key)->is_string()) bad_word(key, found, words, kind);
        return otherwise;
    }
    if (const auto known = from(found)) return *known;
    bad_word(key, found, words, kind);
    return otherwise;
}

}  // namespace proofwalk::plan
