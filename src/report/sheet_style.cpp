#include "report/sheet_style.hpp"

#include <fmt/format.h>

#include "report/palette.hpp"
#include "report/text_width.hpp"

namespace proofwalk::report {
namespace {

std::string tone_variables(bool hall) {
    std::string text;
    for (const Tone& tone : tones) text += fmt::format("--{}:{};", tone.name, hall ? tone.hall : tone.day);
    return text;
}

constexpr std::string_view family = "\"DejaVu Sans Condensed\",\"DejaVu Sans\",\"Liberation Sans\",sans-serif";

// Lines and hatching do the work; colour tells measured from planned.
constexpr std::string_view drawing_rules = R"(
svg text{fill:var(--ink);font-size:13px;font-variant-numeric:tabular-nums}
svg path,svg line,svg rect,svg circle{fill:none;stroke:var(--ink);stroke-width:1}
svg .area{fill:var(--wash);stroke:var(--line)}
svg .area-name{fill:var(--soft)}
svg .ground{stroke:var(--line);stroke-width:1.4}
svg .edge{stroke:var(--line);stroke-width:.6}
svg .box{stroke-width:4}
svg .box-name{font-weight:bold}
svg .axis-planned{stroke-dasharray:7 4}
svg .axis-fitted{stroke:var(--measured);stroke-width:1.8}
svg .fan{fill:var(--measured);fill-opacity:.2;stroke:none}
svg .flag{fill:var(--paper)}
svg .flag-foot{fill:var(--ink);stroke:none}
svg .flag-number{font-weight:bold}
svg .flag-role{fill:var(--soft);font-size:11px}
svg .dimension{stroke:var(--line);stroke-width:.7}
svg .extension{stroke:var(--line);stroke-width:.5}
svg .dimension-text,svg .box-name,svg .flag-role,svg .area-name{paint-order:stroke;stroke:var(--paper);stroke-width:3px;stroke-linejoin:round}
svg .dimension-tick{stroke-width:1.4}
svg .dimension-text,svg .view-name{fill:var(--soft)}
svg .view-name{font-size:16px;letter-spacing:.12em}
svg .scale-full,svg .arrow-full{fill:var(--ink)}
svg.curve text{font-size:14px}
svg.curve .tick{fill:var(--soft)}
svg .rule{stroke:var(--rule)}
svg .tick-mark,svg .field{stroke:var(--line)}
svg .ribbon{fill:var(--measured);fill-opacity:.2;stroke:none}
svg .curve-measured,svg .curve-impulse{stroke:var(--measured);stroke-width:1.8;stroke-linejoin:round}
svg .curve-impulse{stroke-width:1}
svg .curve-planned{stroke-dasharray:6 4}
svg .name-measured{fill:var(--measured);font-weight:bold}
svg .name-measured,svg .name-planned,svg .reflection-text{paint-order:stroke;stroke:var(--paper);stroke-width:4px}
svg.curve .reflection-text{font-size:12px}
svg .cursor{stroke:var(--ink);stroke-width:.8}
svg .cursor-text{font-weight:bold;paint-order:stroke;stroke:var(--paper);stroke-width:5px}
svg:focus-visible{outline:2px solid var(--measured)}
svg .gate-limit{stroke:var(--line);stroke-dasharray:2 3}
svg .gate{fill:var(--gate);stroke:none}
svg .arrival{stroke-width:1.6}
)";

constexpr std::string_view page_rules = R"(
*{box-sizing:border-box}
html{-webkit-text-size-adjust:100%}
body{margin:0;background:var(--paper);color:var(--ink);font-size:16px;line-height:1.4;font-variant-numeric:tabular-nums}
a{color:inherit;text-decoration-thickness:1px;text-underline-offset:2px}
a:focus-visible{outline:3px solid var(--measured);outline-offset:2px}
.skip-link{position:absolute;left:-999px}
.skip-link:focus{left:8px;top:8px;background:var(--paper);padding:8px;z-index:1}
main{max-width:1240px;margin:0 auto;padding:16px}
.sheet{position:relative;border:2px solid var(--ink);outline:1px solid var(--line);outline-offset:4px;margin:12px 0 36px;padding:0 28px 24px;display:flex;flex-direction:column}
.head{display:grid;grid-template-columns:minmax(0,1fr) minmax(0,760px);gap:0 24px;margin:0 -28px 20px 0}
.head h1,.head h2{margin-top:24px}
.box-counts{display:flex;flex-wrap:wrap;gap:4px 16px;list-style:none;padding:0;margin:0;font-size:16px}
h1,h2,h3{font-weight:bold;line-height:1.2;margin:0}
h1{font-size:34px}
h2{font-size:34px;margin-bottom:12px}
h3{font-size:22px;margin:28px 0 8px}
p{margin:8px 0;max-width:78ch}
.lead{color:var(--soft);margin:4px 0 16px}
.counts{display:flex;flex-wrap:wrap;gap:8px 32px;list-style:none;padding:0;margin:20px 0 8px}
.counts li{display:flex;align-items:center;gap:8px;font-size:16px}
.counts b{font-size:34px;line-height:1}
.counts .mark{width:28px;height:28px}
.mark{width:1.1em;height:1.1em;flex:none;vertical-align:-.18em;margin-right:.4em}
.counts .mark{margin:0}
.verdict{white-space:nowrap}
.v-fail{font-weight:bold}
.notes{list-style:none;padding:0;margin:8px 0;counter-reset:none}
.notes li{display:grid;grid-template-columns:64px 1fr auto;gap:0 12px;padding:10px 0;border-top:1px solid var(--line);break-inside:avoid}
.notes .number{font-size:22px;font-weight:bold;white-space:nowrap}
.notes .mark{width:20px;height:20px;vertical-align:-3px}
.notes .figure{text-align:right;font-size:22px;line-height:1.25;white-space:nowrap}
.notes .figure span{display:block;font-size:13px;color:var(--soft)}
.notes .do{font-size:22px;line-height:1.25;margin:0}
.notes .found{margin:4px 0 0}
.notes .more{color:var(--soft);margin:2px 0 0;font-size:13px}
table{border-collapse:collapse;width:100%;margin:8px 0 16px;font-size:14px;line-height:1.35}
caption{text-align:left;color:var(--soft);padding:0 0 4px}
th,td{text-align:left;vertical-align:top;padding:5px 12px 5px 0;border-bottom:1px solid var(--rule)}
thead th{border-bottom:1.5px solid var(--ink);vertical-align:bottom;color:var(--soft);font-weight:normal}
tbody th{font-weight:bold}
td.n,th.n{text-align:right;white-space:nowrap;padding-right:16px}
td.nowrap{white-space:nowrap}
.do-line{display:block;font-weight:bold}
.whole{white-space:nowrap}
.quiet{color:var(--soft)}
figure{margin:12px 0;break-inside:avoid;min-width:0}
figure>svg{display:block;width:100%;height:auto}
.photos{display:grid;grid-template-columns:repeat(auto-fill,minmax(220px,1fr));gap:12px}
.photos img{display:block;max-width:100%;max-height:320px}
figcaption{color:var(--soft);font-size:13px;margin-top:4px;max-width:100ch}
.sample{width:34px;height:10px;display:inline-block;vertical-align:1px}
.pair{display:grid;grid-template-columns:repeat(2,minmax(0,1fr));gap:0 28px}
.room-narrow{display:none!important}
.caution{border:1.5px solid var(--ink);padding:8px 12px 8px 52px;margin:8px 0;position:relative;break-inside:avoid;max-width:none}
.caution svg{position:absolute;left:14px;top:9px;width:24px;height:24px}
.hash{overflow-wrap:anywhere;font-family:"DejaVu Sans Mono",monospace;font-size:13px}
.contents{columns:4 200px;list-style:none;padding:0;margin:8px 0 20px;font-size:14px}
.contents li{padding:3px 0;break-inside:avoid}
.contents a{display:inline-block;padding:2px 0}
.facts{display:grid;grid-template-columns:repeat(4,minmax(0,1fr));gap:0;margin:0 0 16px;border-top:1px solid var(--line)}
.facts div{padding:6px 12px 6px 0;border-bottom:1px solid var(--rule)}
.facts dt,.title-block dt{font-size:13px;color:var(--soft)}
.facts dd,.title-block dd{margin:0}
.rehearsal{display:inline-block;border:1.5px solid var(--ink);padding:2px 10px;font-weight:bold;margin:0 0 12px}
.title-block{margin:0;border:solid var(--ink);border-width:0 0 2px 2px;background:var(--wash);display:grid;grid-template-columns:2fr 1.5fr 1.7fr 1.7fr;font-size:13px;break-inside:avoid;line-height:1.3}
.title-block div{padding:5px 10px 6px;border:solid var(--line);border-width:0 1px 1px 0;min-width:0;overflow-wrap:anywhere}
.title-block .name dd{font-size:16px;font-weight:bold}
.title-block .mark{width:11px;height:11px;margin-right:3px;vertical-align:-1px}
.title-block .tally span{white-space:nowrap;margin-right:9px;display:inline-block}
.tick-box{display:inline-block;width:14px;height:14px;border:1.5px solid var(--ink)}
.signature{display:grid;grid-template-columns:2fr 2fr 1fr;gap:28px;margin:32px 0 8px}
.signature div{border-top:1px solid var(--ink);padding-top:4px;font-size:13px;color:var(--soft);height:24px}
@media screen and (max-width:760px){
main{padding:8px}
.sheet{padding:0 12px;outline:none;margin:0 0 20px}
.head{display:contents}
.head h1,.head h2{margin-top:14px}
.box-counts{margin-bottom:12px}
h1,h2{font-size:27px}
.pair{grid-template-columns:minmax(0,1fr)}
.room-wide:not(:only-of-type){display:none!important}.room-narrow{display:block!important}
.notes li{grid-template-columns:58px 1fr}
.notes .figure{grid-column:2;text-align:left;font-size:16px;margin-top:4px}.notes .figure span{display:inline;margin-left:10px}
.notes .do{font-size:18px}
.contents{columns:2 130px}
.facts{grid-template-columns:1fr 1fr}
.title-block{order:9;margin:24px -12px 0;border-width:2px 0 0;grid-template-columns:1fr 1fr}
.stacks,.stacks tbody,.stacks tr,.stacks td,.stacks tbody th{display:block}
.stacks caption{display:block}.stacks thead{display:none}.stacks br{display:none}
.stacks tr{border-bottom:1px solid var(--line);padding:8px 0}
.stacks td,.stacks tbody th,.stacks td.n{border:0;padding:1px 0;text-align:left;white-space:normal;overflow-wrap:anywhere}
.stacks td.n{display:inline-block;margin-right:14px}
.stacks td:empty{display:none}
.stacks td[data-label]::before{content:attr(data-label) "  ";color:var(--soft)}
.signature{grid-template-columns:1fr;gap:44px}
}
@media screen and (prefers-color-scheme:dark){:root{HALL}}
@media print{
@page{margin:12mm 12mm 16mm;@bottom-left{content:"LEFT"}@bottom-center{content:"MIDDLE"}@bottom-right{content:"page " counter(page) " of " counter(pages)}}
@page{@bottom-left{font:8pt "DejaVu Sans Condensed",sans-serif}@bottom-center{font:bold 8pt "DejaVu Sans Condensed",sans-serif}@bottom-right{font:8pt "DejaVu Sans Condensed",sans-serif}}
@page drawing{size:landscape}
body{font-size:10pt}
*{-webkit-print-color-adjust:exact;print-color-adjust:exact}
main{max-width:none;padding:0}
.skip-link,.contents{display:none}
.sheet{outline:none;border:0;margin:0;padding:0;break-before:page;display:block}
.sheet:first-of-type{break-before:auto}
.landscape{page:drawing}
h1,h2{font-size:20pt}h3{font-size:13pt;margin:14pt 0 4pt;break-after:avoid}
.counts b{font-size:22pt}.notes .do,.notes .figure{font-size:12.5pt}.notes .figure span,.notes .more{font-size:8.5pt}
figcaption,.facts,.facts dt{font-size:8pt}.box-counts{font-size:10pt}
table{font-size:8.5pt}
thead{display:table-header-group}
tr,td,th{break-inside:avoid}
tbody tr:first-child,tbody tr:last-child{break-before:avoid}thead{break-after:avoid}
caption{break-after:avoid}
.head{margin:0 0 10pt;grid-template-columns:minmax(0,1fr) minmax(0,128mm)}
.head h1,.head h2{margin-top:4pt}
.title-block{border:1.5pt solid var(--ink);font-size:7.5pt;grid-template-columns:1.6fr 1.1fr 1.9fr 1.5fr}.title-block dt{font-size:7pt}.title-block .name dd{font-size:9.5pt}
.pair{grid-template-columns:repeat(2,minmax(0,1fr));gap:0 14pt}
.room-narrow{display:none!important}.room-wide{display:block!important}
.room{max-height:205mm;max-width:100%;margin:0 auto}.landscape .room{max-height:138mm}
a{text-decoration:none}
#lead{font-size:8.5pt}#lead p{margin:3pt 0;max-width:none}#lead h3{margin:8pt 0 2pt}#lead table{font-size:8pt;margin:4pt 0 6pt}
#lead th,#lead td{padding:2pt 8pt 2pt 0}#lead .counts{margin:6pt 0 2pt}#lead .caution{margin:4pt 1pt 4pt 0;padding:4pt 8pt 4pt 36pt}#lead .signature{margin:20pt 0 4pt}
}
)";

// A CSS string: quotes, backslashes and line ends as escapes.
std::string css_string(const std::string& text) {
    std::string out;
    for (const char c : printable(text)) {
        const bool plain = static_cast<unsigned char>(c) >= 0x80 || (c >= ' ' && c != '"' && c != '\\' && c != '<');
        out += plain ? std::string(1, c) : fmt::format("\\{:06x}", static_cast<unsigned>(static_cast<unsigned char>(c)));
    }
    return out;
}

std::string replaced(std::string text, std::string_view mark, const std::string& by) {
    const std::size_t at = text.find(mark);
    return at == std::string::npos ? text : text.replace(at, mark.size(), by);
}

}  // namespace

std::string drawing_style() {
    return fmt::format("svg{{{}font-family:{};background:var(--paper)}}{}", tone_variables(false), family, drawing_rules);
}

std::string page_style(const RunningText& running) {
    std::string rules = replaced(std::string(page_rules), "HALL", tone_variables(true));
    rules = replaced(std::move(rules), "LEFT", css_string(running.left));
    rules = replaced(std::move(rules), "MIDDLE", css_string(running.middle));
    return fmt::format(":root{{{}color-scheme:light dark}}body{{font-family:{}}}{}{}", tone_variables(false), family,
                       drawing_rules, rules);
}

}  // namespace proofwalk::report
