#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "report/desk.hpp"
#include "report/figures.hpp"
#include "report/text_table.hpp"

namespace proofwalk::report {
namespace {

std::string side(double y, LengthUnit unit) {
    if (std::abs(y) < 5e-3) return "middle";
    return length_text(std::abs(y), unit) + (y > 0.0 ? " right" : " left");
}

std::string joined(const std::vector<std::string>& items, std::string_view with) {
    std::string text;
    for (const auto& item : items) text += (text.empty() ? "" : std::string(with)) + item;
    return text;
}

std::string serves(const plan::Position& position) {
    std::vector<std::string> all;
    for (const auto& serve : position.serves) all.push_back(fmt::format("{} {}", word(serve.role), joined(serve.boxes, "+")));
    return all.empty() ? "extra" : joined(all, ", ");
}

std::string sure(const std::optional<double>& u, const std::string& unit) { return u ? fmt::format("{} {}", fixed(*u, 2), unit) : std::string(no_figure); }

}  // namespace

std::string place_text(const plan::Placement& placement, const std::vector<PredictedAccuracy>& accuracy, const TextStyle& style, LengthUnit unit) {
    std::string text = fmt::format("{} positions in walking order, {} on foot; sides as the audience sees them\n", placement.positions.size(),
                                   length_text(placement.walk_m, unit));
    TextTable places({{.title = "position"}, {.title = "from stage", .align = Align::right}, {.title = "house", .align = Align::right}, {.title = "height", .align = Align::right},
                      {.title = "serves", .takes_rest = true}});
    for (const auto& position : placement.positions)
        places.add({{printable(position.id)}, {length_text(position.at.x, unit)}, {side(position.at.y, unit)}, {length_text(position.at.z, unit)}, {printable(serves(position))}});
    text += places.text(style);
    if (!placement.unplaced.empty()) {
        text += "\nNot placed\n";
        TextTable missing({{.title = "role"}, {.title = "boxes"}, {.title = "why", .takes_rest = true}});
        for (const auto& one : placement.unplaced) missing.add({{std::string(word(one.role))}, {printable(joined(one.boxes, "+"))}, {one.why}});
        text += missing.text(style);
    }
    if (accuracy.empty()) return text;
    text += "\nHow sure each check will be (standard uncertainty; everything hanging as planned)\n";
    TextTable checks({{.title = "check"}, {.title = "subject"}, {.title = "before", .align = Align::right}, {.title = "after", .align = Align::right}, {.title = "can it pass?", .takes_rest = true}});
    for (const auto& one : accuracy) {
        if (one.unit.empty()) continue;  // yes-or-no checks have no figure
        const bool passes = one.after == verify::Verdict::pass;
        // What it would say of a rig that hangs as planned names a figure first; only the reason counts here.
        const auto reason = one.says.find("; ");
        const std::string why = reason == std::string::npos ? one.says : one.says.substr(reason + 2);
        checks.add({{one.check}, {printable(one.subject)}, {sure(one.before_u, one.unit)}, {sure(one.after_u, one.unit)}, {passes ? "yes" : fmt::format("{}: {}", verify::word(one.after), why)}});
    }
    return text + checks.text(style);
}

std::string diff_text(const PlanDifference& difference, const TextStyle& style) {
    if (difference.words.empty()) return fmt::format("{} and {} say the same\n", difference.before_name, difference.after_name);
    std::string text = fmt::format("From {} to {}\n", difference.before_name, difference.after_name);
    TextTable words({{.title = "what"}, {.title = "which"}, {.title = "changed how", .takes_rest = true}});
    for (const auto& one : difference.words) words.add({{one.section}, {printable(one.subject)}, {printable(one.words)}});
    text += words.text(style);
    if (!difference.targets.empty()) {
        text += "\nHeard differently\n";
        TextTable targets({{.title = "box"}, {.title = "position"}, {.title = "arrival ms", .align = Align::right}, {.title = "aim band dB", .align = Align::right},
                           {.title = "off axis h deg", .align = Align::right}, {.title = "v deg", .align = Align::right}});
        for (const auto& one : difference.targets)
            targets.add({{printable(one.box)}, {printable(one.position)}, {fixed(one.arrival_ms, 2, Sign::always)}, {fixed(one.aim_band_db, 1, Sign::always)},
                         {fixed(one.h_deg, 1, Sign::always)}, {fixed(one.v_deg, 1, Sign::always)}});
        text += targets.text(style);
    }
    const auto list = [&](plan::CheckChange::Kind kind, std::string_view title) {
        TextTable table({{.title = "check"}, {.title = "subject"}, {.title = "why", .takes_rest = true}});
        for (const auto& one : difference.checks)
            if (one.kind == kind) table.add({{std::string(word(one.check))}, {printable(one.subject)}, {printable(one.why)}});
        if (!table.empty()) text += fmt::format("\n{}\n", title) + table.text(style);
    };
    list(plan::CheckChange::Kind::reopened, "Verdicts that no longer stand: take these again");
    list(plan::CheckChange::Kind::added, "New checks");
    list(plan::CheckChange::Kind::dropped, "Checks that are asked no longer");
    return text;
}

}  // namespace proofwalk::report
