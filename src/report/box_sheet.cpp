// One box: as planned and as it stands, its curves, its checks.
#include <fmt/format.h>

#include <algorithm>

#include "report/curve_drawing.hpp"
#include "report/html_pieces.hpp"
#include "report/sheets.hpp"
#include "report/wording.hpp"

namespace proofwalk::report {
namespace {

std::vector<const verify::CheckResult*> checks_of(const Show& show, const plan::Box& box) {
    std::vector<const verify::CheckResult*> checks;
    for (const auto& check : show.tally.checks) {
        const bool of_circuit = check.kind == plan::CheckKind::sounding && check.subject == box.circuit;
        if (of_circuit || (check.kind != plan::CheckKind::sounding && check.subject == box.id)) checks.push_back(&check);
    }
    return checks;
}

// How many of each verdict, without those that no check has.
std::string counts_html(const Show& show, const plan::Box& box) {
    std::string html;
    for (const auto& mark : verdict_marks) {
        const auto checks = checks_of(show, box);
        const auto count = std::ranges::count_if(checks, [&](const auto* check) { return check->verdict == mark.verdict; });
        if (count > 0)
            html += fmt::format("<li>{}{} {}</li>", mark_html(mark.verdict), count, word(mark.verdict));
    }
    return html.empty() ? html : "<ul class=\"box-counts\" aria-label=\"Verdicts of this box\">" + html + "</ul>\n";
}

std::string at_text(const Vec3& at) {
    return fmt::format("x {}, y {}, z {} m", fixed(at.x, 2), fixed(at.y, 2), fixed(at.z, 2));
}

std::string aim_text(const plan::Box& box) {
    return fmt::format("pan {}, tilt {}", with_unit(fixed(box.pan_deg, 1), "deg"), with_unit(fixed(box.tilt_deg, 1), "deg"));
}

void add_fit(const Show& show, const plan::Box& box, std::vector<Fact>& facts) {
    const auto fit = std::ranges::find(show.tally.fits, box.id, &verify::Fit::box);
    if (fit == show.tally.fits.end()) return;
    if (fit->pan_deg) facts.push_back({"Pan by the sound", fitted(fit->pan_deg, fit->pan_u_deg, "deg")});
    if (fit->tilt_deg) facts.push_back({"Tilt by the sound", fitted(fit->tilt_deg, fit->tilt_u_deg, "deg")});
    if (fit->gain_db) facts.push_back({"Gain by the sound", fitted(fit->gain_db, fit->gain_u_db, "dB")});
    constexpr std::array<std::string_view, 3> axes = {"x", "y", "z"};
    std::string at;
    for (std::size_t axis = 0; axis < 3; ++axis)
        if (fit->at[axis])
            at += fmt::format("{}{} {}", at.empty() ? "" : ", ", axes[axis], fitted(fit->at[axis], fit->at_u[axis], "m"));
    if (!at.empty()) facts.push_back({"Place by the sound", at});
    if (!fit->outliers.empty()) facts.push_back({"Left out, fits nothing", joined(fit->outliers)});
}

std::vector<Fact> facts_of(const Show& show, const plan::Box& box) {
    std::vector<Fact> facts = {{"Model", box.model}, {"Circuit", box.circuit}};
    if (!box.patch.empty()) facts.push_back({"Patch", box.patch});
    facts.push_back({"Place, planned", at_text(box.at)});
    if (show.plan.model_of(box).pattern == plan::Pattern::beam) facts.push_back({"Aim, planned", aim_text(box)});
    facts.push_back({"Gain, delay, planned",
                     fmt::format("{} dB, {} ms{}", fixed(box.gain_db, 1), fixed(box.delay_ms, 2), box.inverted ? ", inverted" : "")});
    add_fit(show, box, facts);
    return facts;
}

std::string figure(const std::string& svg, const std::string& caption) {
    return svg.empty() ? svg : fmt::format("<figure>\n{}<figcaption>{}</figcaption></figure>\n", svg, escaped(caption));
}

std::string curves_html(const Show& show, const plan::Box& box) {
    std::string html;
    for (const auto& curves : show.curves) {
        if (curves.box != box.id) continue;
        const std::string where = fmt::format("at {}, take {}", curves.position, curves.take);
        html += "<div class=\"pair\">\n";
        html += figure(magnitude_svg(curves), "Magnitude against plan " + where +
                                                  ". Ribbon: two standard uncertainties. The plan is drawn at the measured level.");
        html += figure(impulse_svg(curves), "Impulse response " + where +
                                                ", dB re its peak. Shaded: the gate of the direct sound. Marks: early "
                                                "reflections, dB re the direct sound.");
        html += "</div>\n";
    }
    return html;
}

}  // namespace

std::string box_anchor(const Show& show, const std::string& box) {
    const auto found = std::ranges::find(show.plan.boxes, box, &plan::Box::id);
    return found == show.plan.boxes.end() ? std::string() : fmt::format("box-{}", found - show.plan.boxes.begin() + 1);
}

Sheet box_sheet(const Show& show, const Notes& notes, const plan::Box& box) {
    Sheet sheet{"Box " + box.id, box_anchor(show, box.id), {}, {}, false};
    sheet.head = fmt::format("<h2>Box {}</h2>\n", escaped(box.id)) + counts_html(show, box);
    sheet.body = facts_html(facts_of(show, box));
    const std::string curves = curves_html(show, box);
    sheet.body += curves.empty() ? "<p class=\"quiet\">No usable on-axis take of this box yet, so there is no curve.</p>\n" : curves;
    const auto sharing = show.plan.boxes_of(box.circuit).size();
    if (sharing > 1)
        sheet.body += fmt::format("<p>{} share circuit {} and cannot be told apart by sound.</p>\n",
                                  counted(sharing, "box", "boxes"), escaped(box.circuit));
    sheet.body += checks_table(checks_of(show, box), notes, "Checks of this box");
    sheet.body += remarks_html(show, "box", box.id, "Noted about this box");
    return sheet;
}

}  // namespace proofwalk::report
