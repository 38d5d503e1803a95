#include "report/page_shell.hpp"

#include <fmt/format.h>

#include "report/hover_script.hpp"
#include "report/html_pieces.hpp"

namespace proofwalk::report {

std::string page_html(const PageShell& shell, const std::string& main) {
    // Nothing is fetched, and of scripts only our own may run: the page says so to the browser.
    const std::string scripts = shell.hover ? fmt::format("; script-src '{}'", hover_script_hash()) : "";
    std::string html = fmt::format(R"(<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; img-src data:{}">
<meta name="generator" content="{}">
<link rel="icon" href="data:,">
<title>{}</title>
<style>{}</style>
</head>
<body>
<a class="skip-link" href="#{}">To the first sheet</a>
)",
                                   scripts, escaped(shell.tool), escaped(shell.title), page_style(shell.running),
                                   shell.first_anchor);
    html += mark_symbols() + "<main>\n" + main + "</main>\n";
    if (shell.hover) html += "<script>" + std::string(hover_script()) + "</script>\n";
    return html + "</body>\n</html>\n";
}

}  // namespace proofwalk::report
