#include <fmt/format.h>

#include <algorithm>

#include "report/html_pieces.hpp"
#include "report/sheets.hpp"
#include "report/wording.hpp"

namespace proofwalk::report {
namespace {

std::string found(const verify::CheckResult& check) {
    std::string html = escaped(sentence_case(check.says));
    if (!check.advice.empty())
        html += fmt::format(" <span class=\"do-line\">{}</span>", escaped(sentence_case(check.advice)));
    return html;
}

// The newest of its takes tells when it was measured.
std::string evidence(const verify::CheckResult& check, const Notes& notes) {
    std::string text = joined(check.takes), newest;
    if (!check.positions.empty()) text += (text.empty() ? "" : " at ") + joined(check.positions);
    for (const auto& take : check.takes)
        if (const auto found = notes.when.find(take); found != notes.when.end()) newest = std::max(newest, found->second);
    return escaped(text + (newest.empty() ? "" : ", " + newest));
}

std::string verdict_cell(const verify::CheckResult& check, const Notes& notes) {
    const int number = notes.number_of(check);
    return verdict_html(check.verdict) + (number > 0 ? fmt::format(" <b>{}</b>", number) : "");
}

}  // namespace

Notes::Notes(const Show& show) {
    for (const auto& check : show.tally.checks)
        if (check.verdict == verify::Verdict::fail) failed.push_back(&check);
    for (const auto& take : show.takes) when[take.label] = take.when.substr(0, 10) + " " + take.when.substr(std::min<std::size_t>(11, take.when.size()), 5);
    for (std::size_t i = 0; i < failed.size(); ++i)
        for (const auto& subject : subjects_of(*failed[i])) {
            // A circuit's note stands beside each of its boxes.
            std::vector<std::string> boxes;
            if (show.plan.box(subject) != nullptr) boxes.push_back(subject);
            else
                for (const plan::Box* box : show.plan.boxes_of(subject)) boxes.push_back(box->id);
            for (const auto& box : boxes)
                of_box[box] += (of_box[box].empty() ? "" : ", ") + std::to_string(i + 1);
        }
}

int Notes::number_of(const verify::CheckResult& check) const {
    const auto found_at = std::ranges::find_if(failed, [&](const verify::CheckResult* note) {
        return note->kind == check.kind && note->subject == check.subject;
    });
    return found_at == failed.end() ? 0 : static_cast<int>(found_at - failed.begin()) + 1;
}

std::vector<std::string> subjects_of(const verify::CheckResult& check) {
    std::vector<std::string> subjects;
    std::size_t from = 0;
    for (std::size_t at = check.subject.find('+'); at != std::string::npos; at = check.subject.find('+', from)) {
        subjects.push_back(check.subject.substr(from, at - from));
        from = at + 1;
    }
    subjects.push_back(check.subject.substr(from));
    return subjects;
}

std::string checks_table(const std::vector<const verify::CheckResult*>& checks, const Notes& notes,
                         const std::string& caption) {
    HtmlTable table(caption, {{"check"}, {"subject"}, {"verdict"}, {"deviation", true}, {"limit", true}, {"found"},
                              {"evidence"}});
    for (const auto* check : checks)
        table.add({std::string(plan::word(check->kind)), escaped(check->subject), verdict_cell(*check, notes),
                   escaped(value_of(*check)), escaped(limit_of(*check)), found(*check), evidence(*check, notes)});
    return table.html();
}

}  // namespace proofwalk::report
