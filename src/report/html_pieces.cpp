#include "report/html_pieces.hpp"

#include <fmt/format.h>

namespace proofwalk::report {

std::string mark_symbols() {
    return R"svg(<svg width="0" height="0" style="position:absolute" aria-hidden="true"><defs>
<symbol id="mark-pass" viewBox="0 0 16 16"><circle cx="8" cy="8" r="6.5" style="fill:var(--pass);stroke:var(--pass)"/></symbol>
<symbol id="mark-fail" viewBox="0 0 16 16"><path d="M8 .6L15.4 8 8 15.4.6 8Z" style="fill:var(--fail);stroke:none"/></symbol>
<symbol id="mark-unsure" viewBox="0 0 16 16"><path d="M8 1.5A6.5 6.5 0 0 0 8 14.5Z" style="fill:var(--unsure);stroke:none"/><path d="M8 1.5V14.5" style="stroke:var(--ink)"/><circle cx="8" cy="8" r="6.5" style="fill:none;stroke:var(--ink);stroke-width:1.4"/></symbol>
<symbol id="mark-open" viewBox="0 0 16 16"><circle cx="8" cy="8" r="6.3" style="fill:none;stroke:var(--ink);stroke-width:1.6"/></symbol>
<symbol id="mark-skipped" viewBox="0 0 16 16"><circle cx="8" cy="8" r="5.6" style="fill:none;stroke:var(--ink);stroke-width:1.6"/><path d="M1 15L15 1" style="stroke:var(--ink);stroke-width:1.6"/></symbol>
<symbol id="mark-caution" viewBox="0 0 24 24"><path d="M12 2L23 21H1Z" style="fill:none;stroke:var(--ink);stroke-width:1.8;stroke-linejoin:round"/><path d="M12 9V15M12 17V19" style="stroke:var(--ink);stroke-width:2"/></symbol>
</defs></svg>
)svg";
}

std::string mark_html(verify::Verdict verdict) {
    return fmt::format("<svg class=\"mark\" aria-hidden=\"true\"><use href=\"#mark-{}\"/></svg>", word(verdict));
}

std::string verdict_html(verify::Verdict verdict) {
    return fmt::format("<span class=\"verdict v-{0}\">{1}{0}</span>", word(verdict), mark_html(verdict));
}

HtmlTable::HtmlTable(std::string caption, std::vector<HtmlColumn> columns)
    : caption_(std::move(caption)), columns_(std::move(columns)) {}

// The roles say again what the elements are: a narrow screen shows rows as blocks, and blocks lose their meaning.
void HtmlTable::add(const std::vector<std::string>& cells, std::size_t row_head) {
    rows_ += "<tr role=\"row\">";
    for (std::size_t c = 0; c < columns_.size(); ++c) {
        const std::string_view figure = columns_[c].figure ? " class=\"n\"" : "";
        const std::string cell = c < cells.size() ? cells[c] : std::string();
        if (c == row_head)
            rows_ += fmt::format("<th scope=\"row\" role=\"rowheader\"{}>{}</th>", figure, cell);
        else if (columns_[c].title.empty() || cell.empty())
            rows_ += fmt::format("<td role=\"cell\"{}>{}</td>", figure, cell);
        else
            rows_ += fmt::format("<td role=\"cell\"{} data-label=\"{}\">{}</td>", figure, escaped(columns_[c].title), cell);
    }
    rows_ += "</tr>\n";
}

std::string HtmlTable::html() const {
    if (rows_.empty()) return {};
    std::string head;
    for (const auto& column : columns_)
        head += fmt::format("<th scope=\"col\" role=\"columnheader\"{}>{}</th>", column.figure ? " class=\"n\"" : "",
                            escaped(column.title));
    return fmt::format("<table class=\"stacks\" role=\"table\"><caption>{}</caption>\n<thead role=\"rowgroup\"><tr "
                       "role=\"row\">{}</tr></thead>\n<tbody role=\"rowgroup\">\n{}</tbody></table>\n",
                       escaped(caption_), head, rows_);
}

std::string facts_html(const std::vector<Fact>& facts) {
    std::string html = "<dl class=\"facts\">";
    for (const auto& fact : facts)
        html += fmt::format("<div><dt>{}</dt><dd>{}</dd></div>", escaped(fact.name), escaped(fact.value));
    return html + "</dl>\n";
}

}  // namespace proofwalk::report
