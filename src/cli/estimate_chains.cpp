#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include <cmath>
#include <memory>
#include <sstream>

#include "acoustics/delay_chain.hpp"
#include "acoustics/line_hang.hpp"
#include "acoustics/subs.hpp"
#include "acoustics/triangle.hpp"
#include "cli/estimate_kit.hpp"
#include "units/convert.hpp"

namespace proofwalk::cli {
namespace {

using report::Estimate;
using report::EstimateSketch;
using report::EstimateTable;
using Kind = EstimateSketch::Kind;

struct DelayOptions : EstimateOptions {
    std::string main_height, height, front, back, joins;
    double main_tilt = 0.0, main_coverage = 60.0, coverage = 60.0, level_offset = 0.0, fall = 6.0, late = 0.0;
    int boxes = 1;
    CLI::Option* tilt_given = nullptr;
};

int delay(Console& console, const DelayOptions& options) {
    Prompt prompt(options.unit());
    acoustics::ChainWish wish;
    wish.main_height_m = prompt.length("--main-height", options.main_height);
    wish.box_height_m = prompt.length("--height", options.height);
    wish.first_row_m = prompt.length("--front", options.front);
    wish.last_row_m = prompt.length("--back", options.back);
    std::vector<double> joins;
    std::stringstream parts(options.joins);
    for (std::string part; std::getline(parts, part, ',');) joins.push_back(prompt.length("--joins", part));
    if (!prompt.faults().empty()) return console.tell(prompt.faults());
    wish.main_coverage_v_deg = options.main_coverage;
    wish.box_coverage_v_deg = options.coverage;
    wish.box_level_1m_db = options.level_offset;
    wish.late_ms = options.late;
    wish.air_db_per_m = air_db_per_m(options.air(), 2000, 8000, 0.5 * wish.last_row_m);
    wish.speed_m_per_s = acoustics::speed_of_sound(options.air()).value;
    // The main's own zone ends at the first join; without one its aim is that for the first half of the room.
    if (options.tilt_given->count() > 0) {
        wish.main_tilt_deg = options.main_tilt;
    } else {
        const double end = joins.empty() ? 0.5 * (wish.first_row_m + wish.last_row_m) : joins.front();
        const acoustics::TiltLimits limits{-90.0, -acoustics::throw_to(wish.main_height_m, end).depression_deg};  // not past its zone
        const auto aim = acoustics::vertical_aim({wish.main_height_m, wish.first_row_m}, {wish.main_height_m, end}, options.main_coverage, wish.air_db_per_m, limits);
        if (!aim) return console.tell(aim.error());
        wish.main_tilt_deg = aim->tilt_deg;
    }
    if (joins.empty()) {
        const auto even = acoustics::even_joins(wish, static_cast<std::size_t>(options.boxes), options.fall);
        if (!even) return console.tell(even.error());
        joins = *even;
    }
    wish.joins_m = joins;
    const auto chain = acoustics::delay_chain(wish);
    if (!chain) return console.tell(chain.error());
    Estimate estimate{"delay-speakers", "Delay speakers down the room", {}, {}, {}, {}, {}};
    for (std::size_t i = 0; i < chain->size(); ++i) {
        const auto& box = (*chain)[i];
        estimate.says.push_back(fmt::format("Box {}: hang it {} from the main, tilt {:.1f} degrees, gain {:+.1f} dB, delay {:.2f} ms; it takes over at {}.", i + 1, length_text(box.at_m, options.unit()), box.tilt_deg, box.gain_db, box.delay_ms, length_text(box.join_m, options.unit())));
    }
    estimate.assumes = {"along the middle of the room, seen from the side, ears at one height; beam model, aim band, air in", fmt::format("speed of sound {:.1f} m/s; each box arrives {:g} ms after the one before it, at their join", wish.speed_m_per_s, options.late),
                        "how late is audible depends on what plays: a guide, not a verdict"};
    estimate.figures = {{"main_tilt_deg", "tilt of the main", wish.main_tilt_deg, "deg", 2}};
    EstimateTable table{"boxes", "The chain", {{"at_m", "from main", "m", 2}, {"tilt_deg", "tilt", "deg", 1}, {"gain_db", "gain", "dB", 1}, {"delay_ms", "delay", "ms", 2}, {"join_m", "joins at", "m", 2}, {"end_m", "to", "m", 2}, {"join_level_db", "level", "dB", 1}}, {}, "box"};
    EstimateTable overlap{"overlaps", "Where a box and the one before it are within 10 dB, and how late it is there", {{"from_m", "from", "m", 2}, {"late_at_from_ms", "late", "ms", 1}, {"to_m", "to", "m", 2}, {"late_at_to_ms", "late", "ms", 1}}, {}, "box"};
    EstimateSketch sketch{"Section", {{Kind::audience, {{wish.first_row_m, 0}, {wish.last_row_m, 0}}, ""}, {Kind::box, {{0, wish.main_height_m}}, "main"}, {Kind::axis, {{0, wish.main_height_m}, {wish.main_height_m / std::tan(radians(std::max(-wish.main_tilt_deg, 3.0))), 0}}, ""}}, {}};
    for (std::size_t i = 0; i < chain->size(); ++i) {
        const auto& box = (*chain)[i];
        table.rows.push_back({fmt::format("{}", i + 1), {box.at_m, box.tilt_deg, box.gain_db, box.delay_ms, box.join_m, box.end_m, box.join_level_db}});
        overlap.rows.push_back({fmt::format("{}", i + 1), {box.overlap_from_m, box.late_at_from_ms, box.overlap_to_m, box.late_at_to_ms}});
        sketch.strokes.push_back({Kind::box, {{box.at_m, wish.box_height_m}}, fmt::format("{}", i + 1)});
        sketch.strokes.push_back({Kind::axis, {{box.at_m, wish.box_height_m}, {box.at_m + wish.box_height_m / std::tan(radians(std::max(-box.tilt_deg, 3.0))), 0}}, ""});
        for (const double place : {box.join_m, box.end_m}) sketch.strokes.push_back({Kind::edge, {{box.at_m, wish.box_height_m}, {place, 0}}, ""});
        sketch.strokes.push_back({Kind::join, {{box.join_m, 0}}, fmt::format("join {}", i + 1)});
    }
    estimate.tables = {table, overlap};
    estimate.sketch = sketch;
    return show(console, estimate, options);
}

struct LineOptions : EstimateOptions {
    int boxes = 12, per_circuit = 0;
    std::string box_height = "0.35 m", trim, front, back, rise = "0", ears = "1.2 m", splays = "0,1,2,3,4,5,6,8,10", tilts = "-6:2:1", by_hand, plan, model;
    double coverage = 12.0, fall = 0.0;
};

int line(Console& console, const LineOptions& options) {
    Prompt prompt(options.unit());
    acoustics::HangDesign design;
    design.boxes = static_cast<std::size_t>(options.boxes);
    design.box_height_m = prompt.length("--box-height", options.box_height);
    design.trim_m = prompt.length("--trim", options.trim);
    const double front = prompt.length("--front", options.front), back = prompt.length("--back", options.back), rise = prompt.length("--rise", options.rise), ears = prompt.length("--ears", options.ears);
    design.allowed_splay_deg = prompt.numbers("--splays", options.splays);
    design.allowed_tilt_deg = prompt.numbers("--tilts", options.tilts);
    design.air = options.air();
    std::vector<double> by_hand;
    if (!options.by_hand.empty()) by_hand = prompt.numbers("--by-hand", options.by_hand);
    const auto chosen = plan_and_model(options.plan, options.model);
    if (!chosen) return console.tell(chosen.error());
    if (!(back > front)) prompt.fault("the back row is not behind the front row", "exchange them");
    if (!prompt.faults().empty()) return console.tell(prompt.faults());
    design.box = chosen->model ? chosen->model->pattern_loss : acoustics::beam_directivity({.coverage_h_deg = 90.0, .coverage_v_deg = options.coverage, .height_m = design.box_height_m});
    constexpr int seats = 30;
    for (int i = 0; i < seats; ++i) {
        const double share = static_cast<double>(i) / (seats - 1);
        design.ears.push_back({front + share * (back - front), ears + share * rise, -options.fall * share});
    }
    const auto best = acoustics::optimised_hang(design);
    if (!best) return console.tell(best.error());
    const auto figures = acoustics::hang_figures(design, *best);
    if (!figures) return console.tell(figures.error());
    Estimate estimate{"line-array", "Line array", {}, {}, {}, {}, {}};
    std::string steps;
    for (const double splay : best->splay_deg) steps += fmt::format("{}{:g}", steps.empty() ? "" : ", ", splay);
    estimate.says = {fmt::format("Frame tilt {:g} degrees, splays from the top {}.", best->tilt_deg, steps.empty() ? "none" : steps),
                     fmt::format("Along the audience levels differ by {:.1f} dB and spectra by {:.1f} dB (standard deviations).", figures->level_spread_db, figures->spectrum_spread_db)};
    estimate.assumes = {"coherent sum of the boxes along the middle of the audience with their vertical pattern, distance and air, third octaves from 63 Hz to 14 kHz", "the best of a search over the allowed angles, not a proof; loads and angle limits of the hang are for its rigger and its maker"};
    estimate.figures = {{"tilt_deg", "frame tilt", best->tilt_deg, "deg", 1}, {"level_spread_db", "spread of level", figures->level_spread_db, "dB", 2}, {"spectrum_spread_db", "spread of spectra", figures->spectrum_spread_db, "dB", 2}, {"unevenness_db", "both together", figures->unevenness_db, "dB", 2}};
    std::optional<acoustics::HangFigures> tried;
    if (!by_hand.empty()) {
        const auto angles = acoustics::HangAngles{by_hand.front(), {by_hand.begin() + 1, by_hand.end()}};
        const auto other = acoustics::hang_figures(design, angles);
        if (!other) return console.tell(other.error());
        tried = *other;
        estimate.figures.push_back({"by_hand_unevenness_db", "by hand, both together", tried->unevenness_db, "dB", 2});
        estimate.says.push_back(fmt::format("The angles given by hand cost {:.2f} dB of evenness against these.", tried->unevenness_db - figures->unevenness_db));
    }
    EstimateTable boxes{"boxes", "Boxes from the top", {{"splay_deg", "splay above", "deg", 1}, {"tilt_deg", "tilt", "deg", 1}, {"ahead_m", "ahead", "m", 2}, {"height_m", "height", "m", 2}}, {}, "box"};
    for (std::size_t i = 0; i < design.boxes; ++i)
        boxes.rows.push_back({fmt::format("{}", i + 1), {i == 0 ? std::nullopt : std::optional(best->splay_deg[i - 1]), figures->box_tilt_deg[i], figures->box_ahead_m[i], figures->box_height_m[i]}});
    EstimateTable levels{"levels", "Level along the audience, re its mean", {{"at_m", "at", "m", 2}, {"level_db", "level", "dB", 1}}, {}, ""};
    if (tried) levels.columns.push_back({"by_hand_db", "by hand", "dB", 1});
    double mean = 0.0, other_mean = 0.0;
    for (std::size_t i = 0; i < design.ears.size(); ++i) {
        mean += figures->level_db[i] / seats;
        if (tried) other_mean += tried->level_db[i] / seats;
    }
    for (std::size_t i = 0; i < design.ears.size(); i += 3) {
        EstimateTable::Row row{"", {design.ears[i].ahead_m, figures->level_db[i] - mean}};
        if (tried) row.values.push_back(tried->level_db[i] - other_mean);
        levels.rows.push_back(row);
    }
    estimate.tables = {boxes, levels};
    if (options.per_circuit > 0) {
        const auto circuits = acoustics::hang_circuits(design, *best, static_cast<std::size_t>(options.per_circuit));
        if (!circuits) return console.tell(circuits.error());
        EstimateTable table{"circuits", "Circuits and where to put the mics", {{"first", "from box", "", 0}, {"last", "to", "", 0}, {"tilt_deg", "axis", "deg", 1}, {"on_axis_m", "on axis at", "m", 2}, {"join_m", "joins the next at", "m", 2}}, {}, "circuit"};
        for (std::size_t i = 0; i < circuits->size(); ++i) {
            const auto& one = (*circuits)[i];
            table.rows.push_back({fmt::format("{}", i + 1), {static_cast<double>(one.first + 1), static_cast<double>(one.last + 1), one.tilt_deg, design.ears[one.ear].ahead_m, i + 1 < circuits->size() ? std::optional(design.ears[one.join_ear].ahead_m) : std::nullopt}});
        }
        estimate.tables.push_back(table);
    }
    EstimateSketch sketch{"Section", {{Kind::audience, {{front, ears}, {back, ears + rise}}, ""}}, {}};
    for (std::size_t i = 0; i < design.boxes; ++i) {
        const double x = figures->box_ahead_m[i], z = figures->box_height_m[i], tilt = radians(figures->box_tilt_deg[i]), half = 0.5 * design.box_height_m;
        sketch.strokes.push_back({Kind::box, {{x - half * std::sin(tilt), z + half * std::cos(tilt)}, {x + half * std::sin(tilt), z - half * std::cos(tilt)}}, ""});
        if (i > 0 && i + 1 < design.boxes) continue;
        // Axes of the outermost boxes, to the line of ears or the last row.
        const double slope = std::tan(tilt), meets = (z - ears + rise * front / (back - front) - x * slope) / (rise / (back - front) - slope);
        const double end = std::isfinite(meets) && meets > x && meets < back ? meets : back;
        sketch.strokes.push_back({Kind::axis, {{x, z}, {end, z + slope * (end - x)}}, ""});
    }
    estimate.sketch = sketch;
    return show(console, estimate, options);
}

struct SubOptions : EstimateOptions {
    std::string kind = "end-fired", spacing;
    int boxes = 2;
    double low = 30.0, high = 100.0;
};

int subs(Console& console, const SubOptions& options) {
    Prompt prompt(options.unit());
    const double spacing = prompt.length("--spacing", options.spacing);
    if (!(options.low < options.high)) prompt.fault("the band is empty", "put the lower frequency first");
    if (!prompt.faults().empty()) return console.tell(prompt.faults());
    const double speed = acoustics::speed_of_sound(options.air()).value;
    const auto preset = options.kind == "gradient" ? acoustics::SubPreset::gradient : acoustics::SubPreset::end_fired;
    const auto row = acoustics::sub_preset(preset, static_cast<std::size_t>(options.boxes), spacing, options.high, speed);
    if (!row) return console.tell(row.error());
    Estimate estimate{"subs", options.kind == "gradient" ? "Gradient pair of subs" : "End-fired subs", {}, {"omni boxes in the open, far away; walls and floor change it", fmt::format("speed of sound {:.1f} m/s", speed)}, {}, {}, {}};
    EstimateTable boxes{"boxes", "From the rear to the front", {{"ahead_m", "ahead", "m", 3}, {"delay_ms", "delay", "ms", 2}, {"inverted", "inverted", "", 0}}, {}, "box"};
    for (std::size_t i = 0; i < row->size(); ++i) boxes.rows.push_back({fmt::format("{}", i + 1), {(*row)[i].ahead_m, (*row)[i].delay_ms, (*row)[i].inverted ? 1.0 : 0.0}});
    EstimateTable pattern{"pattern", "Level re one box", {{"frequency_hz", "at", "Hz", 0}, {"front_db", "ahead", "dB", 1}, {"side_db", "to the side", "dB", 1}, {"rear_db", "behind", "dB", 1}}, {}, ""};
    constexpr double deepest_db = -60.0;  // what cancels in theory does not in a room
    for (int i = 0; i <= 4; ++i) {
        const double f = options.low * std::pow(options.high / options.low, i / 4.0);
        const auto level = [&](double angle) { return std::max(acoustics::sub_level_db(*row, angle, f, speed), deepest_db); };
        pattern.rows.push_back({"", {f, level(0), level(90), level(180)}});
    }
    estimate.says.push_back(preset == acoustics::SubPreset::gradient ? "Invert the rear box and delay it as shown: behind the pair the two cancel." : "Delay each box as shown: ahead of the row all arrive together.");
    estimate.tables = {boxes, pattern};
    return show(console, estimate, options);
}

}  // namespace

void add_chain_estimates(CLI::App& estimate, Console& console, Action& action) {
    auto chain = std::make_shared<DelayOptions>();
    CLI::App* delaying = estimate.add_subcommand("delay", "Place, aim, level and delay of delay speakers down a room");
    delaying->add_option("--main-height", chain->main_height, "of the main above the ears")->required();
    delaying->add_option("--height", chain->height, "of the delay speakers above the ears")->required();
    delaying->add_option("--front", chain->front, "distance of the first row from the main")->required();
    delaying->add_option("--back", chain->back, "distance of the last row")->required();
    chain->tilt_given = delaying->add_option("--main-tilt", chain->main_tilt, "default: even over the main's own zone")->check(CLI::Range(-89.0, 89.0));
    delaying->add_option("--main-coverage", chain->main_coverage, "vertical, deg")->check(CLI::Range(1.0, 180.0))->capture_default_str();
    delaying->add_option("--coverage", chain->coverage, "of the delay speakers, vertical, deg")->check(CLI::Range(1.0, 180.0))->capture_default_str();
    delaying->add_option("--louder", chain->level_offset, "a delay speaker at gain 0 against the main at 1 m, dB")->check(CLI::Range(-60.0, 60.0));
    delaying->add_option("--boxes", chain->boxes, "delay speakers, when no joins are given")->check(CLI::Range(1, 20))->capture_default_str();
    delaying->add_option("--fall", chain->fall, "the first takes over where the main has fallen by this, dB")->check(CLI::Range(0.5, 30.0))->capture_default_str();
    delaying->add_option("--joins", chain->joins, "where each takes over, from the main, separated by commas");
    delaying->add_option("--late", chain->late, "arrival of each after the one before, at the join, ms")->check(CLI::Range(-50.0, 50.0));
    add_shared(*delaying, *chain, true);
    delaying->footer("Example: proofwalk estimate delay --main-height 4.3 --height 3.7 --front 4 --back 52 --boxes 2 --late 3");
    delaying->callback([=, &console, &action] { action = [=, &console] { return delay(console, *chain); }; });

    auto hang = std::make_shared<LineOptions>();
    CLI::App* hanging = estimate.add_subcommand("line", "Splay steps of a line array for an even level from front to back");
    hanging->add_option("--boxes", hang->boxes, "in the hang")->check(CLI::Range(1, 32))->capture_default_str();
    hanging->add_option("--box-height", hang->box_height, "from joint to joint")->capture_default_str();
    hanging->add_option("--coverage", hang->coverage, "vertical coverage of one box, deg")->check(CLI::Range(1.0, 120.0))->capture_default_str();
    hanging->add_option("--plan", hang->plan, "take the box's pattern from a plan");
    hanging->add_option("--model", hang->model, "the plan's model");
    hanging->add_option("--trim", hang->trim, "height of the top of the uppermost box")->required();
    hanging->add_option("--front", hang->front, "distance of the front row")->required();
    hanging->add_option("--back", hang->back, "distance of the back row")->required();
    hanging->add_option("--rise", hang->rise, "how much higher the back row's ears are")->capture_default_str();
    hanging->add_option("--ears", hang->ears, "height of the front row's ears")->capture_default_str();
    hanging->add_option("--splays", hang->splays, "allowed splay steps, deg")->capture_default_str();
    hanging->add_option("--tilts", hang->tilts, "allowed frame tilts, deg, as list or from:to:step")->capture_default_str();
    hanging->add_option("--fall", hang->fall, "wanted fall of level from front to back, dB")->check(CLI::Range(-20.0, 30.0));
    hanging->add_option("--by-hand", hang->by_hand, "frame tilt and every splay, to see what they cost");
    hanging->add_option("--per-circuit", hang->per_circuit, "boxes driven together: circuits and mic places too")->check(CLI::Range(1, 32));
    add_shared(*hanging, *hang, true);
    hanging->footer("Example: proofwalk estimate line --boxes 12 --trim 9 --front 6 --back 50 --rise 1.5 --per-circuit 4");
    hanging->callback([=, &console, &action] { action = [=, &console] { return line(console, *hang); }; });

    auto row = std::make_shared<SubOptions>();
    CLI::App* lows = estimate.add_subcommand("subs", "Delay and polarity of a directional row of subs");
    lows->add_option("--kind", row->kind, "end-fired or gradient")->check(CLI::IsMember({"end-fired", "gradient"}))->capture_default_str();
    lows->add_option("--boxes", row->boxes, "in the row")->check(CLI::Range(2, 16))->capture_default_str();
    lows->add_option("--spacing", row->spacing, "between neighbours")->required();
    lows->add_option("--low", row->low, "lowest frequency, Hz")->check(CLI::Range(10.0, 500.0))->capture_default_str();
    lows->add_option("--high", row->high, "highest frequency, Hz")->check(CLI::Range(20.0, 500.0))->capture_default_str();
    add_shared(*lows, *row, true);
    lows->footer("Example: proofwalk estimate subs --kind gradient --spacing 0.9 --high 90");
    lows->callback([=, &console, &action] { action = [=, &console] { return subs(console, *row); }; });
}

}  // namespace proofwalk::cli
