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
    const auto found = walk::splay_estimate({c1, c2, options.quieter, options.join, options.vertical, measured ? one : nullptr, measured ? two : nullptr, options.tilt, options.tilt, options.middle, options.given});
    if (!found) return console.tell(found.error());
    return show(console, found->estimate, options);
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
    const auto found = walk::spacing_estimate({{options.coverage, c2, options.quieter, depth, options.splay, options.join}, options.boxes, options.unit()});
    if (!found) return console.tell(found.error());
    return show(console, found->estimate, options);
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
