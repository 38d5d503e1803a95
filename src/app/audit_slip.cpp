// The audit of the log: is it still what was written, and does it reach a hash that was noted on paper?
#include <fmt/format.h>

#include "app/slip_parts.hpp"
#include "report/wording.hpp"

namespace proofwalk::app {

std::string audit_words(const Audited& audited) {
    if (!audited.found) return sentence(audited.found.error());
    const log::Audit& audit = *audited.found;
    const std::string what = audited.recordings ? fmt::format("{} and {}", report::counted(static_cast<std::size_t>(audit.records), "record", "records"), report::counted(static_cast<std::size_t>(audit.recordings), "file", "files"))
                                                : report::counted(static_cast<std::size_t>(audit.records), "record", "records");
    return audit.sound() ? fmt::format("the log is what was written, {}", what)
                         : fmt::format("{} in {}: {}", report::counted(audit.findings.size(), "thing does not fit", "things do not fit"), what, audit.findings.front().says);
}

void draw_audit_slip(const Stage& stage, Rect whole) {
    State& state = stage.state;
    Ink& ink = stage.ink();
    const Paper& paper = stage.paper();
    Rect rest = lay_slip(stage, whole, 760.0F, 560.0F, "Is the log what was written?");
    const Answer given = slip_answer(stage, rest, "Audit with every recording", true);
    const bool entered = stage.ui.field("audit-against", cut_top(rest, stage.px(54.0F)), "a hash from a sign-off or an earlier audit, its first 8 digits or more; may be empty", state.audit_against);
    cut_top(rest, stage.px(10.0F));
    if (given == Answer::yes || entered) stage.desk.audit(state.audit_against, true);
    if (given == Answer::no) state.slip = Slip::none;
    const auto paragraph = [&](Size size, Colour colour, const std::string& text) {
        if (!text.empty() && rest.height() >= ink.line_height(size)) cut_top(rest, ink.wrapped(rest, size, colour, text) + stage.px(5.0F));
    };
    const auto& audited = stage.desk.audited();
    if (!audited) return paragraph(Size::body, paper.faint, "Every record's hash covers its content and the records before it. The audit finds the first one that was changed, removed or put in.");
    const bool sound = audited->found && audited->found->sound();
    paragraph(Size::head, sound ? paper.ink : paper.fail, report::sentence_case(audit_words(*audited)) + ".");
    paragraph(Size::small, paper.faint, fmt::format("{}{}", to_text(audited->when), audited->recordings ? "" : ", recordings and photos not read yet"));
    if (!audited->found) return;
    const log::Audit& audit = *audited->found;
    if (audit.anchored) paragraph(Size::body, paper.ink, fmt::format("The given hash vouches for {}.", report::counted(static_cast<std::size_t>(*audit.anchored), "record", "records")));
    for (const auto& head : audit.heads) paragraph(Size::small, paper.ink, "Newest hash, to note down: " + head);
    for (const auto& finding : audit.findings)
        paragraph(Size::body, paper.fail, fmt::format("{}{}: {}", finding.number == 0 ? std::string{"The log"} : fmt::format("Record {}", finding.number), fmt::format(", {}", word(finding.what)), finding.says));
    for (const auto& fork : audit.forks) paragraph(Size::small, paper.ink, fork);
    for (const auto& chain : audit.chains) paragraph(Size::small, paper.faint, fmt::format("{} from {}, written on {}", report::counted(static_cast<std::size_t>(chain.records), "record", "records"), chain.chain, report::joined(chain.machines)));
}

}  // namespace proofwalk::app
