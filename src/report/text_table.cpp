#include "report/text_table.hpp"

#include <algorithm>

namespace proofwalk::report {
namespace {

constexpr int gap = 2;
constexpr int narrowest_rest = 20;

struct Shape {
    std::vector<int> widths;  // 0: the column is left out
};

int total(const std::vector<int>& widths) {
    int sum = 0;
    for (const int width : widths)
        if (width > 0) sum += width + gap;
    return sum > 0 ? sum - gap : 0;
}

// Columns that are too many for the line give way, widest first.
void squeeze(std::vector<int>& widths, int room) {
    while (total(widths) > room) {
        const auto widest = std::ranges::max_element(widths);
        if (*widest <= 4) return;
        --*widest;
    }
}

Shape shape_of(const std::vector<Column>& columns, const std::vector<std::vector<Cell>>& rows, int room) {
    Shape shape;
    std::size_t rest = columns.size();
    for (std::size_t c = 0; c < columns.size(); ++c) {
        int content = 0;
        for (const auto& row : rows)
            if (c < row.size()) content = std::max(content, columns_of(row[c].text));
        int width = content == 0 ? 0 : std::max(std::min(content, columns[c].most), columns_of(columns[c].title));
        if (columns[c].takes_rest && content > 0) {
            rest = c;
            width = std::max(content, columns_of(columns[c].title));
        }
        shape.widths.push_back(width);
    }
    if (rest < columns.size()) {
        const int others = total(shape.widths) - shape.widths[rest];
        shape.widths[rest] = std::min(shape.widths[rest], std::max(room - others, narrowest_rest));
    }
    squeeze(shape.widths, room);
    return shape;
}

void end_line(std::string& out, std::string& line) {
    line.erase(line.find_last_not_of(' ') + 1);
    out += line;
    out += '\n';
    line.clear();
}

}  // namespace

std::string coloured(const std::string& text, const std::string& colour, const TextStyle& style) {
    if (!style.colour || colour.empty() || text.empty()) return text;
    return "\x1b[" + colour + "m" + text + "\x1b[0m";
}

std::string TextTable::text(const TextStyle& style, int indent) const {
    if (rows_.empty()) return {};
    const auto [widths] = shape_of(columns_, rows_, style.columns - indent);
    const std::string margin(static_cast<std::size_t>(indent), ' ');
    std::string out;
    std::string line = margin;
    const bool titled = std::ranges::any_of(columns_, [](const Column& column) { return !column.title.empty(); });
    if (titled) {
        for (std::size_t c = 0; c < columns_.size(); ++c)
            if (widths[c] > 0)
                line += padded(shortened(columns_[c].title, widths[c]), widths[c], columns_[c].align) +
                        std::string(gap, ' ');
        end_line(out, line);
    }
    for (const auto& row : rows_) {
        std::vector<std::vector<std::string>> cells(columns_.size());
        std::size_t lines = 1;
        for (std::size_t c = 0; c < columns_.size() && c < row.size(); ++c) {
            if (widths[c] == 0) continue;
            if (columns_of(row[c].text) <= widths[c])
                cells[c] = {row[c].text};
            else
                cells[c] = wrapped(row[c].text, widths[c]);
            lines = std::max(lines, cells[c].size());
        }
        for (std::size_t n = 0; n < lines; ++n) {
            line = margin;
            for (std::size_t c = 0; c < columns_.size(); ++c) {
                if (widths[c] == 0) continue;
                const std::string part = n < cells[c].size() ? cells[c][n] : std::string();
                const std::string blank_padded = padded(part, widths[c], columns_[c].align);
                line += c < row.size() ? coloured(blank_padded, part.empty() ? "" : row[c].colour, style) : blank_padded;
                line += std::string(gap, ' ');
            }
            end_line(out, line);
        }
    }
    return out;
}

}  // namespace proofwalk::report
