// Pieces of a page that several sheets share.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "report/svg_canvas.hpp"
#include "report/verdict_marks.hpp"

namespace proofwalk::report {

// The shapes of the verdicts, once a page; everything else refers to them.
[[nodiscard]] std::string mark_symbols();
// Shape and word.
[[nodiscard]] std::string verdict_html(verify::Verdict verdict);
// The shape alone, beside words that say the same.
[[nodiscard]] std::string mark_html(verify::Verdict verdict);

struct HtmlColumn {
    std::string title;
    bool figure = false;  // right-aligned, kept on one line
};

// A table with a caption, column heads and a row head; on a narrow screen each row becomes a short list.
class HtmlTable {
public:
    HtmlTable(std::string caption, std::vector<HtmlColumn> columns);
    // Cells as HTML; the cell at `row_head` names the row.
    void add(const std::vector<std::string>& cells, std::size_t row_head = 0);
    [[nodiscard]] bool empty() const { return rows_.empty(); }
    [[nodiscard]] std::string html() const;  // empty without rows

private:
    std::string caption_;
    std::vector<HtmlColumn> columns_;
    std::string rows_;
};

struct Fact {
    std::string name, value;  // plain text
};
[[nodiscard]] std::string facts_html(const std::vector<Fact>& facts);

}  // namespace proofwalk::report
