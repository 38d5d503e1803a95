#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include <cmath>
#include <memory>

#include "acoustics/evenness.hpp"
#include "acoustics/splay.hpp"
#include "cli/estimate_kit.hpp"
#include "units/convert.hpp"

namespace proofwalk::cli {
namespace {

using report::Estimate;
using report::EstimateSketch;
using report::EstimateTable;
using Kind = EstimateSketch::Kind;

struct SplayOptions : EstimateOptions {
    double coverage = 0.0, coverage_2 = 0.0, quieter = 0.0, join = 6.0, tilt = 0.0, given = 0.0, middle = 0.0;
    std::string plan, model, model_2;
    bool vertical = false;
};

std::pair<double, double> ray(Vec3 from, double angle_deg, double reach) {
    return {from.x + reach * std::cos(radians(angle_deg)), from.y + reach * std::sin(radians(angle_deg))};
}

int splay(Console& console, const SplayOptions& options) {
    const auto chosen = plan_and_model(options.plan, options.model);
    if (!chosen) return console.tell(chosen.error());
    const plan::Model* one = chosen->model;
    const plan::Model* two = one == nullptr || options.model_2.empty() ? one : chosen->plan->model(options.model_2);
    if (one != nullptr && two == nullptr) return console.tell(Fault{FaultKind::input, options.plan, "", fmt::format("there is no model \"{}\"", options.model_2), "see: proofwalk plan show"});
    const auto angle_of = [&](const plan::Model& model) { return options.vertical ? model.coverage_v_deg : model.coverage_h_deg; };
    const double c1 = options.coverage > 0.0 ? options.coverage : one ? angle_of(*one) : 0.0;
    const double c2 = options.coverage_2 > 0.0 ? options.coverage_2 : two && options.coverage <= 0.0 ? angle_of(*two) : c1;
    if (!(c1 > 0.0)) return console.tell(Fault{FaultKind::input, "", "command line", "the coverage of the boxes is not known", "give --coverage DEG, or --plan PLAN --model ID"});
    const bool measured = one && options.coverage <= 0.0 && (!one->directivity.empty() || !two->directivity.empty());
    const auto found = measured ? acoustics::splay_for(*one->pattern_loss, *two->pattern_loss, options.vertical, one->aim_band_hz.low_hz, one->aim_band_hz.high_hz, options.quieter, options.join)
                                : acoustics::splay_for({c1, c2, options.quieter, options.join});
    if (!found) return console.tell(found.error());
    Estimate estimate{"splay", "Splay of a pair", {}, {}, {}, {}, {}};
    estimate.says.push_back(fmt::format("Open them by {:.1f} degrees: they meet {:.1f} degrees off the louder one's axis, {:g} dB below it, and cover {:.0f} degrees together.", found->splay_deg, found->join_from_1_deg, options.join, found->covered_deg));
    estimate.assumes = {"both in one place, levels in the aim band; at -6 dB two that arrive together sum to the level on the axis", measured ? "the measured patterns of the plan's models" : "the beam model, without side lobes"};
    estimate.figures = {{"splay_deg", "splay, in space", found->splay_deg, "deg", 2}, {"join_from_louder_deg", "join, from the louder axis", found->join_from_1_deg, "deg", 2}, {"axis_1_deg", "louder axis, from the middle", options.middle + found->axis_1_deg, "deg", 2}, {"axis_2_deg", "other axis", options.middle + found->axis_2_deg, "deg", 2}, {"covered_deg", "covered together", found->covered_deg, "deg", 1}};
    if (!options.vertical && options.tilt != 0.0) {
        const auto pan = acoustics::pan_apart_deg(found->splay_deg, options.tilt, options.tilt);
        if (!pan) return console.tell(pan.error());
        estimate.figures.push_back({"pan_apart_deg", "pans apart at that tilt", *pan, "deg", 2});
        estimate.says.push_back(fmt::format("Tilted {:g} degrees, their pans are {:.1f} degrees apart.", options.tilt, *pan));
    }
    if (options.given > 0.0) {
        const auto join = acoustics::join_of(options.given, c1, c2, options.quieter);
        if (!join) return console.tell(join.error());
        const double below = 24.0 * *join * *join / (c1 * c1);
        estimate.figures.push_back({"join_at_given_deg", "join when opened as given", *join, "deg", 2});
        estimate.figures.push_back({"join_at_given_db", "level of each there", -below, "dB", 2});
        estimate.says.push_back(fmt::format("Opened by {:g} degrees they meet {:.1f} degrees off the louder axis, {:.1f} dB below it.", options.given, *join, below));
    }
    EstimateSketch sketch{options.vertical ? "Pair from the side" : "Pair from above", {}, {}};
    for (const auto& [axis, cover] : {std::pair{found->axis_1_deg, c1}, {found->axis_2_deg, c2}}) {
        sketch.strokes.push_back({Kind::axis, {{0, 0}, ray({}, axis, 10.0)}, fmt::format("{:.1f} deg", axis)});
        for (const double edge : {-0.5, 0.5}) sketch.strokes.push_back({Kind::edge, {{0, 0}, ray({}, axis + edge * cover, 9.0)}, ""});
    }
    sketch.strokes.push_back({Kind::join, {ray({}, found->axis_1_deg - found->join_from_1_deg, 6.0)}, "join"});
    estimate.sketch = sketch;
    return show(console, estimate, options);
}

struct SpacingOptions : EstimateOptions {
    double coverage = 90.0, coverage_2 = 0.0, quieter = 0.0, splay = 0.0, join = 6.0;
    std::string depth;
    int boxes = 2;
};

int spacing(Console& console, const SpacingOptions& options) {
    Prompt prompt(options.unit());
    const double depth = prompt.length("--depth", options.depth);
    if (!prompt.faults().empty()) return console.tell(prompt.faults());
    const double c2 = options.coverage_2 > 0.0 ? options.coverage_2 : options.coverage;
    const auto found = acoustics::spacing_for({options.coverage, c2, options.quieter, depth, options.splay, options.join});
    if (!found) return console.tell(found.error());
    Estimate estimate{"spacing", "Spacing of a row", {fmt::format("Hang them {} apart: their coverage meets {} ahead.", length_text(found->spacing_m, options.unit()), length_text(depth, options.unit()))},
                      {"where they meet each is as far below the level straight ahead at that depth as asked, the longer way there in", "with a ruler: edges of coverage drawn as lines, without that"}, {}, {}, {}};
    estimate.figures = {{"spacing_m", "spacing", found->spacing_m, "m", 3}, {"join_from_louder_m", "join, from the louder box along the line", found->join_from_1_m, "m", 3}, {"angle_only_m", "spacing with a ruler", found->angle_only_m > 0.0 ? std::optional(found->angle_only_m) : std::nullopt, "m", 3}};
    if (options.boxes > 2) estimate.figures.push_back({"row_m", "whole row, equal boxes", found->spacing_m * (options.boxes - 1), "m", 3});
    EstimateSketch sketch{"Row from above", {}, {}};
    for (int i = 0; i < options.boxes; ++i) {
        const double y = -found->spacing_m * i, pan = options.boxes == 2 ? (i == 0 ? 0.5 : -0.5) * options.splay : 0.0, cover = i == 1 && options.boxes == 2 ? c2 : options.coverage;
        const Vec3 at{0, y, 0};
        for (const double edge : {-0.5, 0.0, 0.5}) sketch.strokes.push_back({edge == 0.0 ? Kind::axis : Kind::edge, {{0, y}, ray(at, pan + edge * cover, 1.6 * depth)}, ""});
        sketch.strokes.push_back({Kind::box, {{0, y}}, fmt::format("{}", i + 1)});
        if (i > 0) sketch.strokes.push_back({Kind::join, {{depth, y + found->spacing_m - found->join_from_1_m}}, "join"});
    }
    estimate.sketch = sketch;
    return show(console, estimate, options);
}

struct AimInOptions : EstimateOptions {
    std::string spacing, height, near, far, near_width, far_width, ears = "1.2 m", angles = "-15,0,15,30", plan, model;
    double tilt = -10.0, coverage_h = 0.0, coverage_v = 0.0;
};

int aim_in(Console& console, const AimInOptions& options) {
    Prompt prompt(options.unit());
    acoustics::PairWish wish;
    wish.half_spacing_m = 0.5 * prompt.length("--spacing", options.spacing);
    wish.height_m = prompt.length("--height", options.height);
    wish.near_m = prompt.length("--near", options.near);
    wish.far_m = prompt.length("--far", options.far);
    wish.near_width_m = prompt.length("--near-width", options.near_width);
    wish.far_width_m = prompt.optional_length("--far-width", options.far_width).value_or(wish.near_width_m);
    wish.ear_m = prompt.length("--ears", options.ears);
    wish.tilt_deg = options.tilt;
    const auto angles = prompt.numbers("--angles", options.angles);
    const auto chosen = plan_and_model(options.plan, options.model);
    if (!chosen) return console.tell(chosen.error());
    if (chosen->model == nullptr && !(options.coverage_h > 0.0 && options.coverage_v > 0.0)) prompt.fault("the coverage of the boxes is not known", "give --coverage-h and --coverage-v, or --plan PLAN --model ID");
    if (!prompt.faults().empty()) return console.tell(prompt.faults());
    if (chosen->model) {
        wish.box = chosen->model->pattern_loss;
        wish.aim_low_hz = chosen->model->aim_band_hz.low_hz;
        wish.aim_high_hz = chosen->model->aim_band_hz.high_hz;
    } else {
        wish.box = acoustics::beam_directivity({.coverage_h_deg = options.coverage_h, .coverage_v_deg = options.coverage_v});
    }
    wish.air_db_per_m = air_db_per_m(options.air(), wish.aim_low_hz, wish.aim_high_hz, wish.far_m);
    wish.speed_m_per_s = acoustics::speed_of_sound(options.air()).value;
    const auto table = acoustics::aim_in_table(wish, angles);
    if (!table) return console.tell(table.error());
    Estimate estimate{"aim-in", "Two boxes aimed in, straight or out", {}, {"levels in the aim band: power sum of both, re one at 1 m on its axis", "ripple: from peak to dip of the comb where both arrive; above 6 dB counts as combed"}, {}, {}, {}};
    EstimateTable rows{"angles", "Side by side", {{"aimed_in_deg", "aimed in", "deg", 0}, {"mean_db", "mean", "dB", 1}, {"spread_db", "spread", "dB", 2}, {"quietest_db", "quietest", "dB", 1}, {"loudest_db", "loudest", "dB", 1}, {"mean_ripple_db", "ripple", "dB", 1}, {"combed_pct", "combed", "%", 0}}, {}, ""};
    const acoustics::AimedIn* best = nullptr;
    for (const auto& row : *table) {
        rows.rows.push_back({"", {row.aimed_in_deg, row.mean_db, row.spread_db, row.quietest_db, row.loudest_db, row.mean_ripple_db, 100.0 * row.combed_share}});
        if (best == nullptr || row.spread_db < best->spread_db) best = &row;
    }
    estimate.tables.push_back(rows);
    if (best == nullptr) return console.tell(Fault{FaultKind::input, "", "command line", "no angle is asked for", "give --angles -15,0,15"});
    estimate.says = {fmt::format("Of these, {} is the most even ({:.2f} dB); {:.0f} % of the audience is combed.", best->aimed_in_deg == 0.0 ? std::string("straight") : fmt::format("{:g} degrees {}", std::abs(best->aimed_in_deg), best->aimed_in_deg > 0.0 ? "in" : "out"), best->spread_db, 100.0 * best->combed_share),
                     fmt::format("The drawing and the map show that one.")};
    EstimateSketch sketch{fmt::format("Level over the audience, aimed in {:g} degrees", best->aimed_in_deg), {}, EstimateSketch::Field{best->rows, best->columns, {}, {}}};
    for (const auto& place : best->places) {
        sketch.field->places.emplace_back(place.at.x, place.at.y);
        sketch.field->db.push_back(place.level_db);
    }
    for (const double side : {1.0, -1.0}) {
        const Vec3 at{0.0, side * wish.half_spacing_m, 0.0};
        sketch.strokes.push_back({Kind::axis, {{at.x, at.y}, ray(at, -side * best->aimed_in_deg, wish.far_m)}, ""});
        sketch.strokes.push_back({Kind::box, {{at.x, at.y}}, side > 0.0 ? "house right" : "house left"});
    }
    estimate.sketch = sketch;
    return show(console, estimate, options);
}

}  // namespace

void add_pair_estimates(CLI::App& estimate, Console& console, Action& action) {
    auto open = std::make_shared<SplayOptions>();
    CLI::App* opening = estimate.add_subcommand("splay", "The angle between two boxes that hang together, equal or with one turned down");
    opening->add_option("--coverage", open->coverage, "of the louder box, deg")->check(CLI::Range(1.0, 180.0));
    opening->add_option("--coverage-2", open->coverage_2, "of the other; default: the same")->check(CLI::Range(1.0, 180.0));
    opening->add_option("--quieter", open->quieter, "how much the other is turned down, dB")->check(CLI::Range(0.0, 40.0));
    opening->add_option("--join", open->join, "how far below the louder axis they meet, dB")->check(CLI::Range(0.5, 20.0))->capture_default_str();
    opening->add_option("--tilt", open->tilt, "of both, for the difference of pans, deg")->check(CLI::Range(-89.0, 89.0));
    opening->add_option("--middle", open->middle, "pan of the middle of what both cover, deg");
    opening->add_option("--given", open->given, "where they meet when opened by this angle instead")->check(CLI::Range(0.1, 180.0));
    opening->add_option("--plan", open->plan, "take models from a plan, measured patterns too");
    opening->add_option("--model", open->model, "the louder box's model");
    opening->add_option("--model-2", open->model_2, "the other's");
    opening->add_flag("--vertical", open->vertical, "one above the other");
    add_shared(*opening, *open, false);
    opening->footer("Example: proofwalk estimate splay --coverage 60 --quieter 3 --tilt -20");
    opening->callback([=, &console, &action] { action = [=, &console] { return splay(console, *open); }; });

    auto apart = std::make_shared<SpacingOptions>();
    CLI::App* spacing_out = estimate.add_subcommand("spacing", "How far apart boxes side by side hang so that their coverage meets at a depth");
    spacing_out->add_option("--depth", apart->depth, "where coverage meets, ahead of the boxes")->required();
    spacing_out->add_option("--coverage", apart->coverage, "of the boxes, deg")->check(CLI::Range(1.0, 180.0))->capture_default_str();
    spacing_out->add_option("--coverage-2", apart->coverage_2, "of the second box; default: the same")->check(CLI::Range(1.0, 180.0));
    spacing_out->add_option("--quieter", apart->quieter, "how much the second is turned down, dB")->check(CLI::Range(0.0, 40.0));
    spacing_out->add_option("--splay", apart->splay, "opened outwards by this angle, deg")->check(CLI::Range(-60.0, 120.0));
    spacing_out->add_option("--join", apart->join, "how far below straight ahead they meet, dB")->check(CLI::Range(0.5, 20.0))->capture_default_str();
    spacing_out->add_option("--boxes", apart->boxes, "in the row")->check(CLI::Range(2, 40))->capture_default_str();
    add_shared(*spacing_out, *apart, false);
    spacing_out->footer("Example: proofwalk estimate spacing --depth 2.5 --coverage 90 --boxes 5");
    spacing_out->callback([=, &console, &action] { action = [=, &console] { return spacing(console, *apart); }; });

    auto in = std::make_shared<AimInOptions>();
    CLI::App* aiming = estimate.add_subcommand("aim-in", "What aiming two mains in, straight or out does to evenness and comb");
    aiming->add_option("--spacing", in->spacing, "between the two boxes")->required();
    aiming->add_option("--height", in->height, "of the boxes")->required();
    aiming->add_option("--near", in->near, "distance of the near row")->required();
    aiming->add_option("--far", in->far, "distance of the far row")->required();
    aiming->add_option("--near-width", in->near_width, "width of the near row")->required();
    aiming->add_option("--far-width", in->far_width, "width of the far row; default: the same");
    aiming->add_option("--ears", in->ears, "height of the ears")->capture_default_str();
    aiming->add_option("--tilt", in->tilt, "of both boxes, deg")->check(CLI::Range(-89.0, 89.0))->capture_default_str();
    aiming->add_option("--angles", in->angles, "aimed in by, deg; negative: out")->capture_default_str();
    aiming->add_option("--coverage-h", in->coverage_h, "horizontal, deg")->check(CLI::Range(1.0, 360.0));
    aiming->add_option("--coverage-v", in->coverage_v, "vertical, deg")->check(CLI::Range(1.0, 360.0));
    aiming->add_option("--plan", in->plan, "take the model from a plan");
    aiming->add_option("--model", in->model, "the plan's model");
    add_shared(*aiming, *in, true);
    aiming->footer("Example: proofwalk estimate aim-in --spacing 12 --height 5 --near 3 --far 21 --near-width 16 --far-width 20 --coverage-h 90 --coverage-v 60 --draw map.svg");
    aiming->callback([=, &console, &action] { action = [=, &console] { return aim_in(console, *in); }; });
}

}  // namespace proofwalk::cli
