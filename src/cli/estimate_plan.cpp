#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include <cmath>
#include <memory>

#include "acoustics/coverage.hpp"
#include "acoustics/subs.hpp"
#include "cli/estimate_kit.hpp"
#include "plan/checks.hpp"
#include "plan/heard.hpp"
#include "units/bands.hpp"
#include "units/nearest.hpp"

namespace proofwalk::cli {
namespace {

using report::Estimate;
using report::EstimateTable;

template <class Item>
Fault unknown(const std::string& file, std::string_view kind, const std::string& id, const std::vector<Item>& items) {
    std::vector<std::string_view> known;
    for (const auto& item : items) known.push_back(item.id);
    return {FaultKind::input, file, "", fmt::format("there is no {} \"{}\"", kind, id), nearest_remedy(id, known, kind)};
}

struct PatternOptions : EstimateOptions {
    std::string plan, model;
};

int pattern(Console& console, const PatternOptions& options) {
    const auto chosen = plan_and_model(options.plan, options.model);
    if (!chosen) return console.tell(chosen.error());
    const plan::Model& model = *chosen->model;
    const auto whole = acoustics::coverage_at(*model.pattern_loss, model.aim_band_hz.low_hz, model.aim_band_hz.high_hz);
    Estimate estimate{"pattern", fmt::format("Coverage of {} by band", model.id), {}, {model.directivity.empty() ? "the beam model, with its widening at low frequencies where the size is known" : "the measured pattern in " + model.directivity}, {}, {}, {}};
    const auto h = whole.horizontal_deg(), v = whole.vertical_deg();
    estimate.says.push_back(fmt::format("In its aim band it covers {} by {} degrees to -6 dB; the plan says {:g} by {:g}.", h ? fmt::format("{:.0f}", *h) : "all round", v ? fmt::format("{:.0f}", *v) : "all round", model.coverage_h_deg, model.coverage_v_deg));
    estimate.figures = {{"coverage_h_deg", "across, aim band", h, "deg", 1}, {"planned_h_deg", "across, plan", model.coverage_h_deg, "deg", 1}, {"coverage_v_deg", "up and down, aim band", v, "deg", 1}, {"planned_v_deg", "up and down, plan", model.coverage_v_deg, "deg", 1}};
    EstimateTable table{"bands", "-6 dB angles off the axis, third octaves", {{"frequency_hz", "at", "Hz", 0}, {"left_deg", "left", "deg", 0}, {"right_deg", "right", "deg", 0}, {"up_deg", "up", "deg", 0}, {"down_deg", "down", "deg", 0}, {"over_h_deg", "over plan across", "deg", 0}, {"over_v_deg", "over plan up/down", "deg", 0}}, {}, ""};
    for (const auto& band : acoustics::coverage_by_band(*model.pattern_loss, model.range_hz.low_hz, model.range_hz.high_hz)) {
        const auto over = [](const std::optional<double>& found, double planned) { return found ? std::optional(*found - planned) : std::nullopt; };
        table.rows.push_back({"", {std::sqrt(band.low_hz * band.high_hz), band.left_deg, band.right_deg, band.up_deg, band.down_deg, over(band.horizontal_deg(), model.coverage_h_deg), over(band.vertical_deg(), model.coverage_v_deg)}});
    }
    estimate.tables.push_back(table);
    return show(console, estimate, options);
}

struct HeardOptions : EstimateOptions {
    std::string plan, position;
    std::vector<std::string> together;
    std::string ears = "1.2 m";
};

int heard(Console& console, const HeardOptions& options) {
    const auto file = plan::load(options.plan);
    if (!file) return console.tell(file.error());
    const plan::Plan& plan = file->plan;
    Prompt prompt(options.unit());
    const double ears = prompt.length("--ears", options.ears);
    if (!prompt.faults().empty()) return console.tell(prompt.faults());
    const plan::Position* position = plan.position(options.position);
    if (position == nullptr) return console.tell(unknown(options.plan, "position", options.position, plan.positions));
    for (const auto& id : options.together)
        if (plan.box(id) == nullptr) return console.tell(unknown(options.plan, "box", id, plan.boxes));
    if (!options.together.empty() && options.together.size() != 2) return console.tell(Fault{FaultKind::input, "", "command line", "--together is between two boxes", "name two"});
    Estimate estimate{"heard", fmt::format("What {} hears", position->id), {}, {"levels in each box's aim band, planned air; boxes more than 20 dB below the loudest are left out", "models without a level at 1 m are taken as equally loud"}, {}, {}, {}};
    EstimateTable boxes{"boxes", "Boxes heard, loudest first", {{"below_db", "re loudest", "dB", 1}, {"after_ms", "after it", "ms", 2}, {"floor_bounce_ms", "floor bounce after direct", "ms", 2}}, {}, "box"};
    const auto list = plan::heard_at(plan, *position, plan.air);
    for (const auto& one : list) boxes.rows.push_back({one.box, {one.aim_band_db, one.arrival_ms, 1000.0 * plan::floor_bounce_s(*plan.box(one.box), *position, plan.air, ears)}});
    estimate.says.push_back(fmt::format("{} is the loudest{}.", list.front().box, list.size() > 1 ? fmt::format(", {} the next, {:.1f} dB below", list[1].box, -list[1].aim_band_db) : ""));
    estimate.tables.push_back(boxes);
    if (options.together.size() == 2) {
        const auto sum = plan::together(plan, *plan.box(options.together[0]), *plan.box(options.together[1]), *position, plan.air);
        EstimateTable bands{"together", fmt::format("{} and {} together", options.together[0], options.together[1]), {{"frequency_hz", "at", "Hz", 0}, {"coherent_db", "with their times", "dB", 1}, {"power_db", "power sum", "dB", 1}}, {}, ""};
        for (std::size_t band = 0; band < band_count; ++band)
            if (sum.power_db.has(band)) bands.rows.push_back({"", {midband_hz(band), sum.coherent_db[band], sum.power_db[band]}});
        estimate.figures.push_back({"apart_ms", fmt::format("{} after {}", options.together[1], options.together[0]), sum.apart_ms, "ms", 2});
        estimate.tables.push_back(bands);
    }
    return show(console, estimate, options);
}

struct AlignOptions : EstimateOptions {
    std::string plan, sub, main, position;
};

int align(Console& console, const AlignOptions& options) {
    const auto file = plan::load(options.plan);
    if (!file) return console.tell(file.error());
    const plan::Plan& plan = file->plan;
    const plan::Box *sub = plan.box(options.sub), *main = plan.box(options.main);
    if (sub == nullptr) return console.tell(unknown(options.plan, "box", options.sub, plan.boxes));
    if (main == nullptr) return console.tell(unknown(options.plan, "box", options.main, plan.boxes));
    const plan::Position* position = plan.position(options.position);
    if (position == nullptr) return console.tell(unknown(options.plan, "position", options.position, plan.positions));
    // The band in which the plan judges the pair, when they are neighbours in an array; else what both play.
    std::optional<plan::Band> band;
    for (const auto& array : plan.arrays)
        for (std::size_t i = 0; i + 1 < array.boxes.size() && !band; ++i)
            if ((array.boxes[i] == sub->id && array.boxes[i + 1] == main->id) || (array.boxes[i] == main->id && array.boxes[i + 1] == sub->id)) band = plan::pair_band(plan, array, *sub, *main);
    if (!band) {
        const plan::Band a = plan.model_of(*sub).range_hz, b = plan.model_of(*main).range_hz;
        const plan::Band both{std::max(a.low_hz, b.low_hz), std::min(a.high_hz, b.high_hz)};
        if (both.low_hz >= both.high_hz) return console.tell(Fault{FaultKind::input, options.plan, "", fmt::format("{} and {} have no frequency in common", sub->id, main->id), "give their array band_hz"});
        band = both;
    }
    const auto one = plan::target(plan, *sub, *position, plan.air), two = plan::target(plan, *main, *position, plan.air);
    const double sub_latency = plan.model_of(*sub).latency_ms, main_latency = plan.model_of(*main).latency_ms;
    const bool levels = plan.model_of(*sub).level_1m_db && plan.model_of(*main).level_1m_db;
    const auto found = acoustics::align_sub({one.bearing.distance_m, two.bearing.distance_m, sub->delay_ms + sub_latency, main->delay_ms + main_latency,
                                             power_mean_db(one.shape_db, band->low_hz, band->high_hz), power_mean_db(two.shape_db, band->low_hz, band->high_hz), band->low_hz, band->high_hz},
                                            acoustics::speed_of_sound(plan.air).value);
    Estimate estimate{"align", fmt::format("{} to {} at {}", sub->id, main->id, position->id), {}, {fmt::format("planned delays and latencies, {:g} to {:g} Hz; the boxes' own phase is not known to the plan: measure before you trust it", band->low_hz, band->high_hz)}, {}, {}, {}};
    estimate.says.push_back(found.sub_delay_ms >= 0.0 ? fmt::format("Add {:.2f} ms to {}.", found.sub_delay_ms, sub->id) : fmt::format("{} is late already: add {:.2f} ms to {} instead.", sub->id, -found.sub_delay_ms, main->id));
    if (!levels) estimate.says.push_back("Their levels can't be compared: one of the models has no level_1m_db.");
    estimate.figures = {{"sub_delay_ms", "delay to add to the sub", found.sub_delay_ms, "ms", 2}, {"sub_gain_db", "gain to add to the sub", levels ? std::optional(found.sub_gain_db) : std::nullopt, "dB", 1}, {"within_ms", "an error that costs up to 1.25 dB", found.lag_at_60_deg_ms, "ms", 2}};
    return show(console, estimate, options);
}

}  // namespace

void add_plan_estimates(CLI::App& estimate, Console& console, Action& action) {
    auto shape = std::make_shared<PatternOptions>();
    CLI::App* patterns = estimate.add_subcommand("pattern", "The -6 dB angles of a plan's model band by band, against its nominal ones");
    patterns->add_option("--plan", shape->plan, "the plan")->required();
    patterns->add_option("--model", shape->model, "its model")->required();
    add_shared(*patterns, *shape, false);
    patterns->footer("Example: proofwalk estimate pattern --plan hall.toml --model wide");
    patterns->callback([=, &console, &action] { action = [=, &console] { return pattern(console, *shape); }; });

    auto place = std::make_shared<HeardOptions>();
    CLI::App* hearing = estimate.add_subcommand("heard", "Which boxes a position hears, how loud and when, and two of them together");
    hearing->add_option("--plan", place->plan, "the plan")->required();
    hearing->add_option("--position", place->position, "its position")->required();
    hearing->add_option("--together", place->together, "two boxes whose sum is asked")->expected(2);
    hearing->add_option("--ears", place->ears, "height of the position above the floor")->capture_default_str();
    add_shared(*hearing, *place, false);
    hearing->footer("Example: proofwalk estimate heard --plan hall.toml --position p3 --together M1 M2");
    hearing->callback([=, &console, &action] { action = [=, &console] { return heard(console, *place); }; });

    auto pair = std::make_shared<AlignOptions>();
    CLI::App* aligning = estimate.add_subcommand("align", "Delay and level of a sub to a main at a position, in the band they share");
    aligning->add_option("--plan", pair->plan, "the plan")->required();
    aligning->add_option("--sub", pair->sub, "the sub's box")->required();
    aligning->add_option("--main", pair->main, "the main's box")->required();
    aligning->add_option("--position", pair->position, "where they are to meet")->required();
    add_shared(*aligning, *pair, false);
    aligning->footer("Example: proofwalk estimate align --plan hall.toml --sub S1 --main M1 --position p4");
    aligning->callback([=, &console, &action] { action = [=, &console] { return align(console, *pair); }; });
}

}  // namespace proofwalk::cli
