// plan place, diff, draw, export, carry: the design desk's commands on a plan.
#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <memory>

#include "cli/estimate_kit.hpp"
#include "plan/area.hpp"
#include "plan/carry.hpp"
#include "plan/diff.hpp"
#include "plan/place.hpp"
#include "plan/sheets.hpp"
#include "plan/write.hpp"
#include "report/desk.hpp"
#include "report/file_writing.hpp"
#include "report/room_drawing.hpp"
#include "verify/predict.hpp"
#include "walk/show.hpp"

namespace proofwalk::cli {
namespace {

// Writes a plan, after reading it back: what the tool writes it can read. Says where it went.
int write_plan(Console& console, const plan::Plan& plan, const std::string& out) {
    const std::filesystem::path path = out;
    const std::string text = plan::write(plan);
    const auto again = plan::read(text, out, path.parent_path());
    if (!again) return console.tell(again.error());
    const auto written = report::write_whole(path.has_parent_path() ? path.parent_path() : ".", path.filename().string(), text);
    if (!written) return console.tell(written.error());
    console.note("written: " + written->string());
    return status_done;
}

// Directivity files are named relative to the plan, so a plan that moves to another folder would lose them.
std::optional<Fault> loses_directivity(const plan::Plan& plan, const std::string& from, const std::string& to) {
    const auto folder = [](const std::string& file) { return std::filesystem::absolute(file).lexically_normal().parent_path(); };
    for (const auto& model : plan.models)
        if (!model.directivity.empty() && std::filesystem::path(model.directivity).is_relative() && folder(from) != folder(to))
            return Fault{FaultKind::input, to, "", fmt::format("model {} needs {} beside the plan", model.id, model.directivity), "write the new plan into the folder of the old one"};
    return std::nullopt;
}

std::string unit_of(plan::CheckKind kind) {
    switch (kind) {
        case plan::CheckKind::sounding:
        case plan::CheckKind::polarity: return "";
        case plan::CheckKind::response:
        case plan::CheckKind::level:
        case plan::CheckKind::crossover: return "dB";
        case plan::CheckKind::arrival:
        case plan::CheckKind::alignment: return "ms";
        case plan::CheckKind::aim_h:
        case plan::CheckKind::aim_v:
        case plan::CheckKind::splay: return "deg";
        case plan::CheckKind::spacing: return "m";
    }
    return "";
}

std::vector<report::PredictedAccuracy> accuracy(const plan::Plan& before, const plan::Plan& after) {
    const auto old_checks = verify::predict(before, verify::takes_of(before)), new_checks = verify::predict(after, verify::takes_of(after));
    std::vector<report::PredictedAccuracy> all;
    for (const auto& check : new_checks) {
        report::PredictedAccuracy one{std::string(word(check.kind)), check.subject, unit_of(check.kind), std::nullopt, check.u, verify::Verdict::open, check.best, check.best == verify::Verdict::pass ? "" : check.says};
        const auto known = std::ranges::find_if(old_checks, [&](const auto& other) { return other.kind == check.kind && other.subject == check.subject; });
        if (known != old_checks.end()) {
            one.before_u = known->u;
            one.before = known->best;
        }
        all.push_back(one);
    }
    return all;
}

constexpr std::string_view tape_prefix = "tape:";

struct PlaceCommand : EstimateOptions {
    std::string plan, out;
    std::vector<std::string> keep, moves;
    bool keep_all = false, as_it_is = false;
};

int place(Console& console, const PlaceCommand& options) {
    const auto file = plan::load(options.plan);
    if (!file) return console.tell(file.error());
    plan::Plan moved = file->plan;
    plan::PlaceOptions wish{options.keep, options.keep_all, 0.4};
    Prompt prompt(options.unit());
    for (const auto& move : options.moves) {
        const auto at = move.find('=');
        const auto position = std::ranges::find(moved.positions, move.substr(0, at), &plan::Position::id);
        if (at == std::string::npos || position == moved.positions.end()) {
            prompt.fault(fmt::format("--move \"{}\" names no position of the plan", move), "write --move p3=10.2,0,1.2");
            continue;
        }
        const std::string place = move.substr(at + 1);
        if (place.starts_with(tape_prefix)) {
            const Vec3 tapes = prompt.point("--move", place.substr(tape_prefix.size()));  // from A, from B, height
            const auto found = plan::from_tapes(plan::stage_corners(moved), tapes.x, tapes.y);
            if (!found) prompt.fault(fmt::format("--move \"{}\": tapes of these lengths do not meet", move), "measure both from the stage's corners along the floor");
            position->at = found ? Vec3{found->x, found->y, tapes.z} : Vec3{};
        } else {
            position->at = prompt.point("--move", place);
        }
        wish.keep.push_back(position->id);
        if (!moved.areas.empty() && plan::area_under(moved, position->at) == nullptr) console.note(fmt::format("warning: position {} now lies outside every area", position->id));
    }
    for (const auto& id : options.keep)
        if (file->plan.position(id) == nullptr) prompt.fault(fmt::format("--keep \"{}\" is no position of the plan", id), "see: proofwalk plan show");
    if (!prompt.faults().empty()) return console.tell(prompt.faults());
    const plan::Placement placement = options.as_it_is ? plan::Placement{moved.positions, {}, plan::walk_length_m(moved.positions)} : plan::place(moved, wish);
    plan::Plan after = moved;
    after.positions = placement.positions;
    const auto checks = accuracy(file->plan, after);
    console.out() << (options.json ? report::place_json(placement, checks) : report::place_text(placement, checks, console.style(), options.unit()));
    if (options.out.empty()) {
        if (!options.json) console.note("nothing is written; add --out NEW.toml to keep these positions");
        return status_done;
    }
    if (const auto fault = loses_directivity(after, options.plan, options.out)) return console.tell(*fault);
    return write_plan(console, after, options.out);
}

struct DiffCommand {
    std::string before, after;
    bool json = false;
};

int diff(Console& console, const DiffCommand& options) {
    const auto before = plan::load(options.before), after = plan::load(options.after);
    int status = status_done;
    if (!before) status = std::max(status, console.tell(before.error()));
    if (!after) status = std::max(status, console.tell(after.error()));
    if (status != status_done) return status;
    const report::PlanDifference difference{options.before, options.after, plan::differences(before->plan, after->plan), plan::target_changes(before->plan, after->plan), plan::check_changes(before->plan, after->plan)};
    console.out() << (options.json ? report::diff_json(difference) : report::diff_text(difference, console.style()));
    return status_done;
}

struct DrawCommand {
    std::string plan, out;
};

int draw(Console& console, const DrawCommand& options) {
    const auto file = plan::load(options.plan);
    if (!file) return console.tell(file.error());
    const std::filesystem::path path = options.out;
    const auto written = report::write_whole(path.has_parent_path() ? path.parent_path() : ".", path.filename().string(), report::plan_svg(file->plan));
    if (!written) return console.tell(written.error());
    console.out() << written->string() << "\n";
    return status_done;
}

struct ExportCommand : EstimateOptions {
    std::string plan, out, tape_a, tape_b;
};

int export_sheets(Console& console, const ExportCommand& options) {
    const auto file = plan::load(options.plan);
    if (!file) return console.tell(file.error());
    plan::TapePoints tapes = plan::stage_corners(file->plan);
    Prompt prompt(options.unit());
    if (!options.tape_a.empty()) tapes.a = prompt.point("--tape-a", options.tape_a), tapes.a_name = "A";
    if (!options.tape_b.empty()) tapes.b = prompt.point("--tape-b", options.tape_b), tapes.b_name = "B";
    if (tapes.a.x == tapes.b.x && tapes.a.y == tapes.b.y) prompt.fault("the two tape points are one", "choose two that lie apart");
    if (!prompt.faults().empty()) return console.tell(prompt.faults());
    const std::vector<plan::Sheet> sheets = {plan::rigging_sheet(file->plan, options.unit()), plan::mic_sheet(file->plan, options.unit(), tapes), plan::patch_sheet(file->plan)};
    std::vector<std::pair<std::string, std::string>> files = {{"sheets.html", report::crew_sheets_html(file->plan.name, sheets, report::plan_svg(file->plan), walk::tool_name())}};
    for (const auto& sheet : sheets) files.emplace_back(sheet.name + ".csv", plan::csv(sheet));
    for (const auto& [name, bytes] : files) {
        const auto written = report::write_whole(options.out, name, bytes);
        if (!written) return console.tell(written.error());
        console.out() << written->string() << "\n";
    }
    return status_done;
}

struct CarryCommand {
    std::string rig, venue, out;
};

int carry(Console& console, const CarryCommand& options) {
    const auto rig = plan::load(options.rig);
    const auto venue = plan::load_venue(options.venue);
    int status = status_done;
    if (!rig) status = std::max(status, console.tell(rig.error()));
    if (!venue) status = std::max(status, console.tell(venue.error()));
    if (status != status_done) return status;
    const plan::Carried carried = plan::carry(rig->plan, venue->plan);
    for (const auto& note : carried.notes) console.note("note: " + note);
    if (const auto fault = loses_directivity(carried.plan, options.rig, options.out)) return console.tell(*fault);
    return write_plan(console, carried.plan, options.out);
}

}  // namespace

void add_plan_desk_commands(CLI::App& plan, Console& console, Action& action) {
    auto places = std::make_shared<PlaceCommand>();
    CLI::App* placing = plan.add_subcommand("place", "Mic positions from the plan, in walking order, and how sure each check will be");
    placing->add_option("PLAN", places->plan, "the plan, a TOML file")->required();
    placing->add_option("--keep", places->keep, "a position that stays where it is; as often as needed");
    placing->add_flag("--keep-all", places->keep_all, "all positions stay; what they leave open is added");
    placing->add_flag("--as-it-is", places->as_it_is, "nothing is placed: only say how sure each check will be, with what --move changes");
    placing->add_option("--move", places->moves, "a position and its new place, ID=x,y,z, or by two tapes along the floor from the stage's corners (house right, house left) ID=tape:a,b,height");
    placing->add_option("--out", places->out, "write the plan with these positions");
    placing->add_flag("--json", places->json, "for programs");
    placing->add_flag("--feet", places->feet, "lengths in feet and inches");
    placing->footer("Examples: proofwalk plan place hall.toml --out placed.toml\n          proofwalk plan place placed.toml --as-it-is --move p03=10.2,0.5,1.2");
    placing->callback([=, &console, &action] { action = [=, &console] { return place(console, *places); }; });

    auto compared = std::make_shared<DiffCommand>();
    CLI::App* comparing = plan.add_subcommand("diff", "What changed between two plans, what is heard differently, which verdicts no longer stand");
    comparing->add_option("BEFORE", compared->before, "the earlier plan")->required();
    comparing->add_option("AFTER", compared->after, "the later plan")->required();
    comparing->add_flag("--json", compared->json, "for programs");
    comparing->footer("Example: proofwalk plan diff hall.toml hall-2.toml");
    comparing->callback([=, &console, &action] { action = [=, &console] { return diff(console, *compared); }; });

    auto drawn = std::make_shared<DrawCommand>();
    CLI::App* drawing = plan.add_subcommand("draw", "The room in plan and section, to scale, as SVG");
    drawing->add_option("PLAN", drawn->plan, "the plan, a TOML file")->required();
    drawing->add_option("--out", drawn->out, "the SVG file")->required();
    drawing->footer("Example: proofwalk plan draw hall.toml --out hall.svg");
    drawing->callback([=, &console, &action] { action = [=, &console] { return draw(console, *drawn); }; });

    auto paper = std::make_shared<ExportCommand>();
    CLI::App* exporting = plan.add_subcommand("export", "Rigging, mic and patch sheets to print, and as CSV");
    exporting->add_option("PLAN", paper->plan, "the plan, a TOML file")->required();
    exporting->add_option("--out", paper->out, "folder for sheets.html, rigging.csv, mics.csv, patch.csv")->required();
    exporting->add_flag("--feet", paper->feet, "lengths in feet and inches");
    exporting->add_option("--tape-a", paper->tape_a, "first place that a tape is held to, x,y,z; default: the stage's corner, house right");
    exporting->add_option("--tape-b", paper->tape_b, "second place; default: the stage's corner, house left");
    exporting->footer("Example: proofwalk plan export hall.toml --out paper --feet");
    exporting->callback([=, &console, &action] { action = [=, &console] { return export_sheets(console, *paper); }; });

    auto tour = std::make_shared<CarryCommand>();
    CLI::App* carrying = plan.add_subcommand("carry", "Take a rig to another venue: boxes, models and rules stay, places and aims are worked out anew");
    carrying->add_option("RIG", tour->rig, "the plan whose rig is carried")->required();
    carrying->add_option("VENUE", tour->venue, "a plan with the venue's areas; boxes in it are ignored")->required();
    carrying->add_option("--out", tour->out, "the new plan")->required();
    carrying->footer("Example: proofwalk plan carry hall.toml next-hall.toml --out tour-2.toml");
    carrying->callback([=, &console, &action] { action = [=, &console] { return carry(console, *tour); }; });
}

}  // namespace proofwalk::cli
