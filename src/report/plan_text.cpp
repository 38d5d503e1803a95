// The plan on a terminal: what hangs where, what each position should hear, which checks follow.
#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "report/report.hpp"
#include "report/text_table.hpp"
#include "report/wording.hpp"

namespace proofwalk::report {
namespace {

std::string roles_of(const plan::Position& position) {
    std::vector<std::string> roles;
    for (const auto& serve : position.serves) roles.push_back(fmt::format("{} {}", word(serve.role), joined(serve.boxes, "+")));
    return roles.empty() ? "extra evidence" : printable(joined(roles));
}

std::string boxes_table(const plan::Plan& plan, const TextStyle& style) {
    TextTable table({{"box", Align::left, 14}, {"model", Align::left, 14}, {"circuit", Align::left, 14},
                     {"x, m", Align::right}, {"y, m", Align::right}, {"z, m", Align::right}, {"pan", Align::right},
                     {"tilt", Align::right}, {"gain, dB", Align::right}, {"delay, ms", Align::right},
                     {"polarity", Align::left, 9}});
    for (const plan::Box& box : plan.boxes)
        table.add({{printable(box.id)}, {printable(box.model)}, {printable(box.circuit)}, {fixed(box.at.x, 2)},
                   {fixed(box.at.y, 2)}, {fixed(box.at.z, 2)}, {with_unit(fixed(box.pan_deg, 1), "deg")},
                   {with_unit(fixed(box.tilt_deg, 1), "deg")}, {fixed(box.gain_db, 1)}, {fixed(box.delay_ms, 2)},
                   {box.inverted ? "inverted" : ""}});
    return table.text(style);
}

std::string positions_table(const plan::Plan& plan, const TextStyle& style) {
    TextTable table({{"position", Align::left, 14}, {"x, m", Align::right}, {"y, m", Align::right},
                     {"z, m", Align::right}, {"serves", Align::left, 60, true}});
    for (const plan::Position& position : plan.positions)
        table.add({{printable(position.id)}, {fixed(position.at.x, 2)}, {fixed(position.at.y, 2)},
                   {fixed(position.at.z, 2)}, {roles_of(position)}});
    return table.text(style);
}

std::string targets_table(const std::vector<plan::Target>& targets, const TextStyle& style) {
    TextTable table({{"circuit", Align::left, 14}, {"box", Align::left, 14}, {"position", Align::left, 14},
                     {"distance, m", Align::right}, {"left-right", Align::right}, {"up-down", Align::right},
                     {"arrival, ms", Align::right}, {"level, dB", Align::right}});
    for (const plan::Target& target : targets) {
        if (!target.serves) continue;
        table.add({{printable(target.circuit)}, {printable(target.box)}, {printable(target.position)},
                   {fixed(target.bearing.distance_m, 2)}, {with_unit(fixed(target.bearing.h_deg, 1, Sign::always), "deg")},
                   {with_unit(fixed(target.bearing.v_deg, 1, Sign::always), "deg")}, {fixed(target.arrival_s * 1e3, 2)},
                   {fixed(target.aim_band_db, 1)}});
    }
    return table.text(style);
}

std::string checks_table(const std::vector<plan::PlannedCheck>& checks, const TextStyle& style) {
    std::vector<plan::CheckKind> order;
    std::map<plan::CheckKind, std::vector<std::string>> subjects;
    for (const auto& check : checks) {
        auto& list = subjects[check.kind];
        if (list.empty()) order.push_back(check.kind);
        list.push_back(printable(check.subject));
    }
    TextTable table({{"check", Align::left, 10}, {"number", Align::right, 6}, {"subjects", Align::left, 70, true}});
    for (const auto kind : order)
        table.add({{std::string(word(kind))}, {fmt::format("{}", subjects[kind].size())}, {joined(subjects[kind])}});
    return table.text(style);
}

std::string note(std::string_view text, const TextStyle& style) {
    std::string lines;
    for (const std::string& line : wrapped(text, style.columns - 2)) lines += "  " + line + "\n";
    return lines;
}

}  // namespace

std::string plan_text(const plan::Plan& plan, const std::vector<plan::Target>& targets,
                      const std::vector<plan::PlannedCheck>& checks, const TextStyle& style) {
    std::string text = shortened(printable(plan.name), style.columns) + "\n";
    text += fmt::format("{} on {}, {}, {}; air {} \u00b0C, {} %, {} kPa{}\n", counted(plan.boxes.size(), "box", "boxes"),
                        counted(plan.circuits().size(), "circuit", "circuits"),
                        counted(plan.positions.size(), "position", "positions"),
                        counted(checks.size(), "check", "checks"),
                        fixed(plan.air.temperature_c, 1), fixed(plan.air.humidity_pct, 0),
                        fixed(plan.air.pressure_kpa, 1),
                        plan.drive_latency_ms ? fmt::format("; drive latency {} ms", fixed(*plan.drive_latency_ms, 2)) : "");
    text += "\nBoxes\n" + boxes_table(plan, style);
    text += "\nPositions\n" + positions_table(plan, style);
    if (const std::string table = targets_table(targets, style); !table.empty())
        text += "\nWhat each position should hear of the boxes it serves\n" + table +
                note("Off-axis angles as the box sees them, + is its left and up. Level: aim band, direct, re 1 m on axis "
                     "at gain 0, or re the reference where the model states its level at 1 m.", style);
    text += "\nChecks that follow\n" + checks_table(checks, style);
    return text;
}

}  // namespace proofwalk::report
