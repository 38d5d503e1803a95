// Remarks, incidents and attached files.
#include <fmt/format.h>

#include "report/html_pieces.hpp"
#include "report/sheets.hpp"
#include "report/wording.hpp"

namespace proofwalk::report {
namespace {

std::string said(const RemarkLine& remark) {
    if (remark.file.empty()) return escaped(sentence_case(remark.text));
    return escaped(remark.file) + (remark.text.empty() ? "" : ": " + escaped(remark.text)) +
           fmt::format(" <span class=\"hash\">{}</span>", escaped(remark.sha256.substr(0, 16)));
}

}  // namespace

std::string remarks_html(const Show& show, const std::string& kind, const std::string& id, const std::string& caption) {
    HtmlTable table(caption, {{"when"}, {"what"}, {"about"}, {"noted"}, {"who"}});
    std::string pictures;
    for (const RemarkLine& remark : show.remarks) {
        if (!id.empty() && remark.about != kind + " " + id && remark.about != id) continue;
        table.add({escaped(remark.when), remark.what == "incident" ? "<b>incident</b>" : escaped(remark.what), escaped(remark.about), said(remark),
                   escaped(remark.who)});
        if (!remark.picture.empty())
            pictures += fmt::format("<figure><img src=\"{}\" alt=\"Photo of {}: {}\"><figcaption>{}, {}, {}</figcaption></figure>\n", remark.picture,
                                    escaped(remark.about), escaped(remark.file), escaped(remark.about), escaped(remark.file), escaped(remark.when));
    }
    return table.html() + (pictures.empty() ? "" : "<div class=\"photos\">\n" + pictures + "</div>\n");
}

}  // namespace proofwalk::report
