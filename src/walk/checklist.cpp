#include "walk/checklist.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <ranges>
#include <set>

#include "plan/area.hpp"
#include "plan/checks.hpp"
#include "units/nearest.hpp"
#include "walk/bands.hpp"

namespace proofwalk::walk {
namespace {

const plan::Array* array_of(const plan::Plan& plan, const std::string& id) {
    const auto found = std::ranges::find(plan.arrays, id, &plan::Array::id);
    return found == plan.arrays.end() ? nullptr : &*found;
}

bool drives(const plan::Plan& plan, const std::string& circuit, const std::string& box) {
    const plan::Box* known = plan.box(box);
    return known != nullptr && known->circuit == circuit;
}

// Boxes heard at a position on the area.
std::set<std::string> boxes_heard_on(const plan::Plan& plan, const plan::Area& area) {
    std::set<std::string> boxes;
    for (const plan::Position& position : plan.positions)
        if (plan::covers(area, position.at))
            for (const plan::Serve& serve : position.serves) boxes.insert(serve.boxes.begin(), serve.boxes.end());
    return boxes;
}

template <class Things>
std::optional<Fault> unknown(const Things& things, const std::string& id, std::string_view kind) {
    std::vector<std::string_view> known;
    for (const auto& thing : things) known.push_back(thing.id);
    if (id.empty() || std::ranges::find(known, id) != known.end()) return std::nullopt;
    return Fault{FaultKind::input, "", "", fmt::format("the plan has no {} \"{}\"", kind, id), nearest_remedy(id, known, kind)};
}

}  // namespace

bool concerns_box(const plan::Plan& plan, const verify::CheckResult& check, const std::string& box) {
    if (check.kind == plan::CheckKind::sounding) return drives(plan, check.subject, box);
    const auto parts = split_circuits(check.subject);
    return std::ranges::find(parts, box) != parts.end();
}

bool concerns_array(const plan::Plan& plan, const verify::CheckResult& check, const std::string& array) {
    const plan::Array* known = array_of(plan, array);
    if (known == nullptr) return false;
    if (check.kind == plan::CheckKind::sounding)
        return std::ranges::any_of(known->boxes, [&](const auto& box) { return drives(plan, check.subject, box); });
    return std::ranges::all_of(split_circuits(check.subject), [&](const std::string& part) {
        return std::ranges::find(known->boxes, part) != known->boxes.end();
    });
}

bool concerns_area(const plan::Plan& plan, const verify::CheckResult& check, const std::string& area) {
    const auto known = std::ranges::find(plan.areas, area, &plan::Area::id);
    if (known == plan.areas.end()) return false;
    if (check.kind == plan::CheckKind::sounding)
        return std::ranges::any_of(boxes_heard_on(plan, *known), [&](const auto& box) { return drives(plan, check.subject, box); });
    for (const plan::PlannedCheck& planned : plan::checks(plan))
        if (planned.kind == check.kind && planned.subject == check.subject)
            return std::ranges::any_of(planned.positions, [&](const std::string& id) {
                const plan::Position* position = plan.position(id);
                return position != nullptr && plan::covers(*known, position->at);
            });
    return false;
}

bool in_scope(const plan::Plan& plan, const verify::CheckResult& check, const std::vector<std::string>& scope) {
    return scope.empty() || std::ranges::any_of(scope, [&](const std::string& subject) {
               return concerns_box(plan, check, subject) || concerns_array(plan, check, subject);
           });
}

std::optional<Fault> unknown_in_scope(const plan::Plan& plan, const std::vector<std::string>& scope) {
    for (const std::string& subject : scope) {
        if (plan.box(subject) != nullptr || array_of(plan, subject) != nullptr) continue;
        std::vector<std::string_view> known;
        for (const plan::Box& box : plan.boxes) known.push_back(box.id);
        for (const plan::Array& array : plan.arrays) known.push_back(array.id);
        return Fault{FaultKind::input, "", "", fmt::format("\"{}\" is no box and no array of the plan", subject),
                     nearest_remedy(subject, known, "box or array")};
    }
    return std::nullopt;
}

Result<verify::Tally> filtered(const plan::Plan& plan, verify::Tally tally, const CheckFilter& filter) {
    std::set<verify::Verdict> verdicts;
    for (const std::string& word : filter.verdicts) {
        const auto verdict = verify::verdict_from_word(word);
        if (!verdict)
            return std::unexpected(Fault{FaultKind::input, "", "", fmt::format("\"{}\" is no verdict", word),
                                         "give pass, fail, unsure, open or skipped"});
        verdicts.insert(*verdict);
    }
    for (const auto& fault : {unknown(plan.boxes, filter.box, "box"), unknown(plan.arrays, filter.array, "array"),
                              unknown(plan.areas, filter.area, "area")})
        if (fault) return std::unexpected(*fault);
    std::erase_if(tally.checks, [&](const verify::CheckResult& check) {
        return (!verdicts.empty() && !verdicts.contains(check.verdict)) ||
               (!filter.box.empty() && !concerns_box(plan, check, filter.box)) ||
               (!filter.array.empty() && !concerns_array(plan, check, filter.array)) ||
               (!filter.area.empty() && !concerns_area(plan, check, filter.area));
    });
    std::erase_if(tally.fits, [&](const verify::Fit& fit) {
        return std::ranges::none_of(tally.checks, [&](const auto& check) { return concerns_box(plan, check, fit.box); });
    });
    return tally;
}

}  // namespace proofwalk::walk
