// Arrays: how neighbours stand to one another.
#include <fmt/format.h>

#include <set>

#include "report/html_pieces.hpp"
#include "report/sheets.hpp"
#include "report/wording.hpp"

namespace proofwalk::report {
namespace {

std::vector<const verify::CheckResult*> checks_of(const Show& show, const plan::Array& array) {
    std::set<std::string> pairs;
    for (std::size_t i = 1; i < array.boxes.size(); ++i) {
        pairs.insert(array.boxes[i - 1] + "+" + array.boxes[i]);
        pairs.insert(array.boxes[i] + "+" + array.boxes[i - 1]);
    }
    std::vector<const verify::CheckResult*> checks;
    for (const auto& check : show.tally.checks)
        if (pairs.contains(check.subject)) checks.push_back(&check);
    return checks;
}

std::string kind_in_words(plan::ArrayKind kind) {
    std::string text(word(kind));
    for (char& c : text)
        if (c == '-') c = ' ';
    return text;
}

}  // namespace

Sheet array_sheet(const Show& show, const Notes& notes) {
    Sheet sheet{"Arrays", "arrays", "<h2>Arrays</h2>\n", {}, false};
    std::set<const verify::CheckResult*> shown;
    for (const auto& array : show.plan.arrays) {
        const auto checks = checks_of(show, array);
        shown.insert(checks.begin(), checks.end());
        sheet.body += fmt::format("<h3>{}</h3>\n<p>{}, in order: {}</p>\n", escaped(array.id), sentence_case(kind_in_words(array.kind)),
                                  escaped(joined(array.boxes)));
        sheet.body += checks_table(checks, notes, "Neighbours of " + array.id);
    }
    // Whatever stands on no other sheet stands here: nothing logged is left out.
    std::vector<const verify::CheckResult*> others;
    for (const auto& check : show.tally.checks) {
        const bool of_box = show.plan.box(check.subject) != nullptr && check.kind != plan::CheckKind::sounding;
        const bool of_circuit = check.kind == plan::CheckKind::sounding && !show.plan.boxes_of(check.subject).empty();
        if (!of_box && !of_circuit && !shown.contains(&check)) others.push_back(&check);
    }
    if (!others.empty()) sheet.body += "<h3>Other checks</h3>\n" + checks_table(others, notes, "Checks of no box and no array of the plan");
    return sheet;
}

}  // namespace proofwalk::report
