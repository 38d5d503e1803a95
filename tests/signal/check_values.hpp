// Values from outside the project: rows of tests/reference/check_values.csv with their source.
#pragma once

#include <cmath>
#include <fstream>
#include <string>
#include <vector>

namespace proofwalk::test {

struct CheckValue {
    std::string topic, quantity, inputs, unit, source, kind;
    double value = 0.0, tolerance = 0.0;

    // The number after "name=" in the inputs.
    [[nodiscard]] double input(const std::string& name) const {
        const auto at = inputs.find(name + "=");
        return at == std::string::npos ? std::nan("") : std::strtod(inputs.c_str() + at + name.size() + 1, nullptr);
    }
};

inline std::vector<CheckValue> check_values(const std::string& topic, const std::string& quantity_begins) {
    std::ifstream file(PROOFWALK_SOURCE_DIR "/tests/reference/check_values.csv");
    std::vector<CheckValue> found;
    for (std::string line; std::getline(file, line);) {
        std::vector<std::string> fields(1);
        bool quoted = false;
        for (const char c : line) {
            if (c == '"') quoted = !quoted;
            else if (c == ',' && !quoted) fields.emplace_back();
            else fields.back() += c;
        }
        if (fields.size() < 8 || fields[0] != topic || !fields[1].starts_with(quantity_begins)) continue;
        found.push_back({fields[0], fields[1], fields[2], fields[4], fields[6], fields[7], std::strtod(fields[3].c_str(), nullptr),
                         std::strtod(fields[5].c_str(), nullptr)});
    }
    return found;
}

}  // namespace proofwalk::test
