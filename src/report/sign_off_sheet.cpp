// Who signed what, a block to sign by hand, and the history.
#include <fmt/format.h>

#include "report/html_pieces.hpp"
#include "report/sheets.hpp"
#include "report/wording.hpp"

namespace proofwalk::report {
namespace {

std::string sign_off_html(const SignLine& line) {
    std::string html = fmt::format("<h3>{}, {}</h3>\n", escaped(line.who), escaped(line.role));
    if (line.stale)
        html += fmt::format("<p><b>No longer current</b>: {}</p>\n", escaped(line.stale_because));
    html += facts_html({{"Signed", line.when},
                        {"Covers", line.covers.empty() ? "the whole plan" : line.covers},
                        {"Accepted by name", line.exceptions.empty() ? "no exception" : joined(line.exceptions)}});
    return html + fmt::format("<p>Record hash <span class=\"hash\">{}</span></p>\n", escaped(line.hash));
}

std::string history_html(const Show& show) {
    HtmlTable table("Plans, takes, skips, changes and sign-offs, in order.", {{"when"}, {"what"}, {"who"}});
    for (const auto& event : show.history) table.add({escaped(event.when), escaped(event.what), escaped(event.who)});
    return table.empty() ? std::string() : "<h3>History</h3>\n" + table.html();
}

}  // namespace

Sheet sign_off_sheet(const Show& show) {
    Sheet sheet{"Sign-off and history", "sign-off", "<h2>Sign-off and history</h2>\n", {}, false};
    if (show.sign_offs.empty()) sheet.body += "<p>Nobody has signed this tally yet.</p>\n";
    for (const auto& line : show.sign_offs) sheet.body += sign_off_html(line);
    sheet.body += signature_block();
    sheet.body += facts_html({{"Log", show.log_name}, {"Made by", show.tool}, {"Made on", show.made}});
    sheet.body += fmt::format("<p>Plan hash <span class=\"hash\">{}</span></p>\n", escaped(show.plan_sha256));
    if (const std::string noted = remarks_html(show, "", "", "Remarks, incidents and attached files, oldest first."); !noted.empty())
        sheet.body += "<h3>Noted</h3>\n" + noted;
    sheet.body += history_html(show);
    return sheet;
}

}  // namespace proofwalk::report
