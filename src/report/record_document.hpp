// Facts and tables that a command tells: one arrangement for people and one for programs.
#pragma once

#include <cstdint>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "report/report.hpp"

namespace proofwalk::report {

// Nothing, yes or no, a count, a figure, words, a list of words.
using Value = std::variant<std::monostate, bool, std::int64_t, double, std::string, std::vector<std::string>>;

struct RecordTable {
    std::string key;    // in JSON
    std::string title;  // for people
    std::vector<std::string> columns;
    std::vector<std::vector<Value>> rows;  // as many values a row as there are columns
};

struct RecordDocument {
    std::string format;  // "proofwalk.audit/1"
    std::vector<std::pair<std::string, Value>> facts;
    std::vector<RecordTable> tables;
};

// {"format": ..., fact: value, ..., table key: [{column: value, ...}, ...]}; figures that are not finite are null.
[[nodiscard]] std::string document_json(const RecordDocument& document);
// Facts as lines, then each table that has rows under its title.
[[nodiscard]] std::string document_text(const RecordDocument& document, const TextStyle& style);

}  // namespace proofwalk::report
