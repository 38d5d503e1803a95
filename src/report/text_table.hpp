// A table on a terminal: columns as wide as their content, the last ones wrapped into what is left.
#pragma once

#include <string>
#include <vector>

#include "report/report.hpp"
#include "report/text_width.hpp"

namespace proofwalk::report {

struct Column {
    std::string title = {};
    Align align = Align::left;
    int most = 24;          // wider content is wrapped
    bool takes_rest = false;  // gets what is left of the line
};

struct Cell {
    std::string text = {};
    std::string colour = {};  // ANSI colour code inside CSI ... m; used only where the style allows
};

class TextTable {
public:
    explicit TextTable(std::vector<Column> columns) : columns_(std::move(columns)) {}
    void add(std::vector<Cell> row) { rows_.push_back(std::move(row)); }
    [[nodiscard]] bool empty() const { return rows_.empty(); }
    // Lines of at most style.columns columns, indented, each ended; columns without any content are left out.
    [[nodiscard]] std::string text(const TextStyle& style, int indent = 2) const;

private:
    std::vector<Column> columns_;
    std::vector<std::vector<Cell>> rows_;
};

[[nodiscard]] std::string coloured(const std::string& text, const std::string& colour, const TextStyle& style);

}  // namespace proofwalk::report
