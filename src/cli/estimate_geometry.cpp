#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include <cmath>
#include <memory>

#include "acoustics/aim.hpp"
#include "acoustics/triangle.hpp"
#include "cli/estimate_kit.hpp"
#include "units/convert.hpp"

namespace proofwalk::cli {
namespace {

using report::Estimate;
using report::EstimateSketch;
using report::EstimateTable;
using Kind = EstimateSketch::Kind;

using walk::downwards;

struct TriangleOptions : EstimateOptions {
    std::string side[3];
    double angle[3] = {0.0, 0.0, 0.0};
    CLI::Option* angle_given[3] = {};
    bool right = false;
};

int triangle(Console& console, const TriangleOptions& options) {
    Prompt prompt(options.unit());
    acoustics::TriangleKnown known;
    static constexpr const char* names[] = {"--a", "--b", "--c"};
    for (std::size_t i = 0; i < 3; ++i) {
        known.side[i] = prompt.optional_length(names[i], options.side[i]);
        if (options.angle_given[i]->count() > 0) known.angle_deg[i] = options.angle[i];
    }
    if (options.right) known.angle_deg[2] = 90.0;
    if (!prompt.faults().empty()) return console.tell(prompt.faults());
    const auto found = acoustics::solve_triangle(known);
    if (!found) return console.tell(found.error());
    Estimate estimate{"triangle", "Triangle", {}, {}, {}, {}, {}};
    if (found->size() == 2) estimate.says.push_back("Two triangles have these pieces: measure one more to know which.");
    EstimateTable table{"triangles", "Sides, and the angles opposite them", {{"a_m", "a", "m", 3}, {"b_m", "b", "m", 3}, {"c_m", "c", "m", 3}, {"A_deg", "A", "deg", 2}, {"B_deg", "B", "deg", 2}, {"C_deg", "C", "deg", 2}}, {}, ""};
    for (const auto& one : *found)
        table.rows.push_back({"", {one.side[0], one.side[1], one.side[2], one.angle_deg[0], one.angle_deg[1], one.angle_deg[2]}});
    estimate.tables.push_back(table);
    const auto& first = found->front();
    const double x = first.side[1] * std::cos(radians(first.angle_deg[0])), y = first.side[1] * std::sin(radians(first.angle_deg[0]));
    estimate.sketch = EstimateSketch{"Triangle", {{Kind::audience, {{0, 0}, {first.side[2], 0}}, "B"}, {Kind::audience, {{first.side[2], 0}, {x, y}}, "C"}, {Kind::audience, {{x, y}, {0, 0}}, "A"}}, {}};
    return show(console, estimate, options);
}

struct ThrowOptions : EstimateOptions {
    std::string height, distance;
};

int path_of_sound(Console& console, const ThrowOptions& options) {
    Prompt prompt(options.unit());
    const double height = prompt.length("--height", options.height), distance_m = prompt.length("--distance", options.distance);
    if (!prompt.faults().empty()) return console.tell(prompt.faults());
    const auto path = acoustics::throw_to(height, distance_m);
    const double speed = acoustics::speed_of_sound(options.air()).value;
    Estimate estimate{"throw", "Throw", {fmt::format("The seat is {} away, {} from the box.", length_text(path.path_m, options.unit()), downwards(-path.depression_deg))}, {"height is from the ears to the acoustic centre of the box"}, {}, {}, {}};
    estimate.figures = {{"path_m", "path", path.path_m, "m", 3}, {"tilt_deg", "direction (negative is down)", -path.depression_deg, "deg", 2}, {"travel_ms", "travel of sound", 1000.0 * path.path_m / speed, "ms", 2}, {"distance_loss_db", "level re 1 m", -amplitude_db(path.path_m), "dB", 1}};
    return show(console, estimate, options);
}

struct VerticalOptions : EstimateOptions {
    std::string height, front, back, rise = "0", plan, model;
    double coverage = 0.0, lowest = -90.0, highest = 90.0;
};

int vertical(Console& console, const VerticalOptions& options) {
    Prompt prompt(options.unit());
    const double height = prompt.length("--height", options.height), front = prompt.length("--front", options.front), back = prompt.length("--back", options.back), rise = prompt.length("--rise", options.rise);
    const auto chosen = plan_and_model(options.plan, options.model);
    if (!chosen) return console.tell(chosen.error());
    if (chosen->model == nullptr && !(options.coverage > 0.0)) prompt.fault("the box's vertical coverage is not known", "give --coverage DEG, or --plan PLAN --model ID");
    if (!prompt.faults().empty()) return console.tell(prompt.faults());
    const auto found = walk::vertical_estimate({{height, front}, {height - rise, back}, chosen->model, options.coverage, {options.lowest, options.highest}, options.air(), false});
    if (!found) return console.tell(found.error());
    return show(console, found->estimate, options);
}

struct AudienceOptions : EstimateOptions {
    std::string at, plan, box, area, model;
    std::vector<std::string> corners;
    double coverage = 0.0;
};

// Where the box hangs and whom it must reach: from points, or from a plan's box and areas.
struct AudienceSeen {
    Vec3 at;
    std::vector<Vec3> corners;
    const plan::Model* model = nullptr;
    std::optional<plan::Plan> plan;
};
Checked<AudienceSeen> audience(const AudienceOptions& options, Prompt& prompt) {
    auto chosen = plan_and_model(options.plan, options.model);
    if (!chosen) return std::unexpected(chosen.error());
    AudienceSeen seen;
    const std::string model_id = chosen->model ? chosen->model->id : "";
    seen.plan = std::move(chosen->plan);
    if (seen.plan && !options.box.empty()) {
        const plan::Box* box = seen.plan->box(options.box);
        if (box == nullptr) return std::unexpected(Faults{{FaultKind::input, options.plan, "", fmt::format("there is no box \"{}\"", options.box), "see: proofwalk plan show"}});
        seen.at = box->at;
        seen.model = &seen.plan->model_of(*box);
    } else if (!options.at.empty()) {
        seen.at = prompt.point("--at", options.at);
    } else {
        prompt.fault("it is not known where the box hangs", "give --at x,y,z, or --plan PLAN --box ID");
    }
    if (!model_id.empty()) seen.model = seen.plan->model(model_id);
    for (const auto& corner : options.corners) seen.corners.push_back(prompt.point("--corner", corner));
    if (seen.corners.empty() && seen.plan)
        for (const auto& area : seen.plan->areas) {
            if (!options.area.empty() && area.id != options.area) continue;
            const Vec3 ahead = area.far - area.near;
            const Vec3 left = (1.0 / std::hypot(ahead.x, ahead.y)) * Vec3{-ahead.y, ahead.x, 0.0};
            for (const auto& [row, half] : {std::pair{area.near, -0.5 * area.near_width_m}, {area.near, 0.5 * area.near_width_m}, {area.far, 0.5 * area.far_width_m}, {area.far, -0.5 * area.far_width_m}})
                seen.corners.push_back(row + half * left);
        }
    if (seen.corners.empty()) prompt.fault("the audience is not known", "give --corner x,y,z at least twice, or a plan with areas");
    if (!prompt.faults().empty()) return std::unexpected(prompt.faults());
    return seen;
}

int horizontal(Console& console, const AudienceOptions& options) {
    Prompt prompt(options.unit());
    const auto seen = audience(options, prompt);
    if (!seen) return console.tell(seen.error());
    const double coverage = options.coverage > 0.0 ? options.coverage : seen->model ? seen->model->coverage_h_deg : 0.0;
    if (!(coverage > 0.0)) return console.tell(Fault{FaultKind::input, "", "command line", "the box's horizontal coverage is not known", "give --coverage DEG, or --plan PLAN --box ID"});
    const acoustics::Air air = seen->plan ? seen->plan->air : options.air();
    const auto found = walk::horizontal_estimate({seen->at, seen->corners, coverage, air});
    if (!found) return console.tell(found.error());
    return show(console, found->estimate, options);
}

int coverage(Console& console, const AudienceOptions& options) {
    Prompt prompt(options.unit());
    const auto seen = audience(options, prompt);
    if (!seen) return console.tell(seen.error());
    const acoustics::Air air = seen->plan ? seen->plan->air : options.air();
    const auto need = acoustics::coverage_need(seen->at, seen->corners, air_db_per_m(air, 2000, 8000, walk::mean_path_m(seen->at, seen->corners)));
    if (!need) return console.tell(need.error());
    Estimate estimate{"coverage", "Coverage and aim", {fmt::format("From there the audience wants {:.0f} by {:.0f} degrees, panned to {:.1f} and tilted {}.", need->coverage_h_deg, need->coverage_v_deg, need->pan_deg, downwards(need->tilt_deg))},
                      {"the nearer end lies on the -6 dB edge and gets the level of the farther one; beyond a difference of 6 dB the axis stays on the farther end"}, {}, {}, {}};
    estimate.figures = {{"coverage_h_deg", "horizontal coverage", need->coverage_h_deg, "deg", 1}, {"coverage_v_deg", "vertical coverage", need->coverage_v_deg, "deg", 1}, {"pan_deg", "pan", need->pan_deg, "deg", 2}, {"tilt_deg", "tilt", need->tilt_deg, "deg", 2}};
    if (seen->plan) {
        EstimateTable table{"models", "The plan's models (positive: wider than wanted)", {{"over_h_deg", "across", "deg", 0}, {"over_v_deg", "up and down", "deg", 0}}, {}, "model"};
        const plan::Model* best = nullptr;
        double least = 1e9;
        for (const auto& model : seen->plan->models) {
            if (model.pattern == plan::Pattern::omni) continue;
            const double h = model.coverage_h_deg - need->coverage_h_deg, v = model.coverage_v_deg - need->coverage_v_deg;
            table.rows.push_back({model.id, {h, v}});
            if (const double miss = std::hypot(std::log(model.coverage_h_deg / need->coverage_h_deg), std::log(model.coverage_v_deg / need->coverage_v_deg)); miss < least) {
                least = miss;
                best = &model;
            }
        }
        estimate.tables.push_back(table);
        if (best != nullptr) estimate.says.push_back(fmt::format("Of the plan's models {} ({:.0f} by {:.0f}) comes nearest.", best->id, best->coverage_h_deg, best->coverage_v_deg));
    }
    estimate.sketch = walk::audience_sketch(seen->at, seen->corners, need->pan_deg, need->coverage_h_deg);
    return show(console, estimate, options);
}

void add_audience_options(CLI::App& command, AudienceOptions& options, bool needs_coverage) {
    command.add_option("--at", options.at, "where the box hangs, x,y,z");
    command.add_option("--corner", options.corners, "a corner of the audience at ear height, x,y,z; as often as it has corners");
    command.add_option("--plan", options.plan, "take box, areas and models from a plan");
    command.add_option("--box", options.box, "the plan's box");
    command.add_option("--area", options.area, "only this area of the plan");
    if (needs_coverage) {
        command.add_option("--model", options.model, "a model of the plan");
        command.add_option("--coverage", options.coverage, "horizontal coverage of the box, deg")->check(CLI::Range(1.0, 360.0));
    }
    add_shared(command, options, true);
}

}  // namespace

void add_geometry_estimates(CLI::App& estimate, Console& console, Action& action) {
    auto pieces = std::make_shared<TriangleOptions>();
    CLI::App* solving = estimate.add_subcommand("triangle", "Any three pieces of a triangle give the rest");
    static constexpr const char* sides[] = {"--a", "--b", "--c"};
    static constexpr const char* angles[] = {"--A", "--B", "--C"};
    for (std::size_t i = 0; i < 3; ++i) {
        solving->add_option(sides[i], pieces->side[i], "a side");
        pieces->angle_given[i] = solving->add_option(angles[i], pieces->angle[i], "the angle opposite it, deg");
    }
    solving->add_flag("--right", pieces->right, "C is a right angle: two pieces are enough");
    add_shared(*solving, *pieces, false);
    solving->footer("Example: proofwalk estimate triangle --right --a 6 --b 22.5");
    solving->callback([=, &console, &action] { action = [=, &console] { return triangle(console, *pieces); }; });

    auto path = std::make_shared<ThrowOptions>();
    CLI::App* throwing = estimate.add_subcommand("throw", "Path, direction and travel time from height and distance");
    throwing->add_option("--height", path->height, "of the box above the ears")->required();
    throwing->add_option("--distance", path->distance, "along the floor")->required();
    add_shared(*throwing, *path, true);
    throwing->footer("Example: proofwalk estimate throw --height \"16 ft\" --distance \"60 ft\" --feet");
    throwing->callback([=, &console, &action] { action = [=, &console] { return path_of_sound(console, *path); }; });

    auto tilt = std::make_shared<VerticalOptions>();
    CLI::App* tilting = estimate.add_subcommand("vertical", "The tilt that makes front and back row equal");
    tilting->add_option("--height", tilt->height, "of the box above the front row's ears")->required();
    tilting->add_option("--front", tilt->front, "distance to the front row, along the floor")->required();
    tilting->add_option("--back", tilt->back, "distance to the back row")->required();
    tilting->add_option("--rise", tilt->rise, "how much higher the back row's ears are")->capture_default_str();
    tilting->add_option("--coverage", tilt->coverage, "vertical coverage of the box, deg")->check(CLI::Range(1.0, 180.0));
    tilting->add_option("--plan", tilt->plan, "take the model from a plan");
    tilting->add_option("--model", tilt->model, "the plan's model");
    tilting->add_option("--lowest", tilt->lowest, "lowest tilt that the box can take, deg")->check(CLI::Range(-90.0, 90.0));
    tilting->add_option("--highest", tilt->highest, "highest tilt, deg")->check(CLI::Range(-90.0, 90.0));
    add_shared(*tilting, *tilt, true);
    tilting->footer("Example: proofwalk estimate vertical --height 5 --front 3 --back 30 --coverage 60");
    tilting->callback([=, &console, &action] { action = [=, &console] { return vertical(console, *tilt); }; });

    auto turn = std::make_shared<AudienceOptions>();
    CLI::App* panning = estimate.add_subcommand("horizontal", "The pan for an audience of any shape");
    add_audience_options(*panning, *turn, true);
    panning->footer("Example: proofwalk estimate horizontal --at 0,6,4.5 --corner 3,-8,1.2 --corner 3,8,1.2 --corner 21,10,1.2 --corner 21,-10,1.2 --coverage 90");
    panning->callback([=, &console, &action] { action = [=, &console] { return horizontal(console, *turn); }; });

    auto need = std::make_shared<AudienceOptions>();
    CLI::App* covering = estimate.add_subcommand("coverage", "The coverage that a place and an audience want, the aim, and which model fits");
    add_audience_options(*covering, *need, false);
    covering->footer("Example: proofwalk estimate coverage --plan hall.toml --box M1");
    covering->callback([=, &console, &action] { action = [=, &console] { return coverage(console, *need); }; });
}

}  // namespace proofwalk::cli
