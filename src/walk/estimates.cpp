#include "walk/estimates.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "acoustics/triangle.hpp"
#include "plan/targets.hpp"
#include "units/convert.hpp"

namespace proofwalk::walk {
namespace {

using report::Estimate;
using report::EstimateSketch;
using Kind = EstimateSketch::Kind;

std::pair<double, double> ray(Vec3 from, double angle_deg, double reach) {
    return {from.x + reach * std::cos(radians(angle_deg)), from.y + reach * std::sin(radians(angle_deg))};
}

EstimateSketch section_sketch(const VerticalQuestion& question, double tilt_deg, double coverage_deg) {
    const double height = question.front.height_m, back = question.back.distance_m, rise = height - question.back.height_m;
    const auto down_the_room = [&](double tilt) { return std::pair{back * std::cos(radians(tilt)), height + back * std::sin(radians(tilt))}; };
    EstimateSketch sketch{"Section", {{Kind::audience, {{question.front.distance_m, 0.0}, {back, rise}}, "ears"}}, {}};
    sketch.strokes.push_back({Kind::axis, {{0.0, height}, down_the_room(tilt_deg)}, ""});
    for (const double off : {0.5, -0.5}) sketch.strokes.push_back({Kind::edge, {{0.0, height}, down_the_room(tilt_deg + off * coverage_deg)}, ""});
    sketch.strokes.push_back({Kind::box, {{0.0, height}}, "box"});
    return sketch;
}

}  // namespace

std::string downwards(double tilt_deg) { return fmt::format("{:.1f} degrees {}", std::abs(tilt_deg), tilt_deg <= 0.0 ? "down" : "up"); }

double air_db_per_m(const acoustics::Air& air, double low_hz, double high_hz, double path_m) {
    const double path = std::max(path_m, 1.0);
    return (plan::path_loss_db(path, air, 1e-3) - plan::path_loss_db(path, air, plan::Band{low_hz, high_hz})) / path;
}

Result<Estimated<acoustics::VerticalAim>> vertical_estimate(const VerticalQuestion& question) {
    const plan::Model* model = question.model;
    const double low = model ? model->aim_band_hz.low_hz : 2000.0, high = model ? model->aim_band_hz.high_hz : 8000.0;
    const double air = air_db_per_m(question.air, low, high, 0.5 * (question.front.distance_m + question.back.distance_m));
    const bool measured = model && model->pattern == plan::Pattern::beam && !model->directivity.empty();
    const double coverage = model ? model->coverage_v_deg : question.coverage_deg;
    const double last_row_tilt = -acoustics::throw_to(question.back.height_m, question.back.distance_m).depression_deg;
    acoustics::TiltLimits limits = question.limits;
    if (question.not_past_the_last_row) limits.highest_deg = std::min(limits.highest_deg, last_row_tilt);
    const auto aim = measured ? acoustics::vertical_aim(question.front, question.back, *model->pattern_loss, low, high, air, limits)
                              : acoustics::vertical_aim(question.front, question.back, coverage, air, limits);
    if (!aim) return std::unexpected(aim.error());
    Estimate estimate{"vertical-aim", "Vertical aim", {}, {}, {}, {}, {}};
    const bool last_row = question.not_past_the_last_row && aim->tilt_deg == last_row_tilt && aim->tilt_deg != aim->tilt_wanted_deg;
    estimate.says.push_back(last_row ? fmt::format("Tilt the box {}, at the last row: equal levels would want it {} and past the audience. The front row then is {:.1f} dB louder than the back row.",
                                                   downwards(aim->tilt_deg), downwards(aim->tilt_wanted_deg), aim->front_db - aim->back_db)
                                     : fmt::format("Tilt the box {}: front and back row get the same level.", downwards(aim->tilt_wanted_deg)));
    if (aim->tilt_deg != aim->tilt_wanted_deg && !last_row)
        estimate.says.push_back(fmt::format("It can tilt only {}: the front row then is {:.1f} dB {} than the back row.", downwards(aim->tilt_deg), std::abs(aim->front_db - aim->back_db), aim->front_db > aim->back_db ? "louder" : "quieter"));
    estimate.says.push_back(fmt::format("From front to back the level differs by {:.1f} dB; the room wants a coverage of {:.0f} degrees.", aim->loudest_db - aim->quietest_db, aim->wanted_coverage_deg));
    if (aim->tilt_deg > last_row_tilt + 0.05)
        estimate.says.push_back(fmt::format("That is past the last row, at what is behind it; {:.1f} degrees aims at the last row itself, with the front row louder than the back.", last_row_tilt));
    if (aim->beyond_beam) estimate.says.push_back("An end of the audience lies so far off the axis that the beam model ends: its level there means little.");
    estimate.assumes = {"ears on a straight line from the front to the back row, straight ahead of the box", fmt::format("levels in {:g} to {:g} Hz re 1 m on the axis, distance and air ({:.3f} dB/m) in", low, high, air),
                        measured ? "the measured pattern of the model" : "the beam model, without side lobes"};
    estimate.figures = {{"tilt_deg", "tilt", aim->tilt_deg, "deg", 2}, {"tilt_wanted_deg", "tilt wanted", aim->tilt_wanted_deg, "deg", 2}, {"front_db", "front row", aim->front_db, "dB", 1}, {"back_db", "back row", aim->back_db, "dB", 1},
                        {"loudest_db", "loudest place", aim->loudest_db, "dB", 1}, {"quietest_db", "quietest place", aim->quietest_db, "dB", 1}, {"wanted_coverage_deg", "coverage the room wants", aim->wanted_coverage_deg, "deg", 1},
                        {"axis_lands_m", "axis lands, along the floor", aim->axis_lands_m > 0.0 ? std::optional(aim->axis_lands_m) : std::nullopt, "m", 2}};
    estimate.sketch = section_sketch(question, aim->tilt_deg, coverage);
    return Estimated<acoustics::VerticalAim>{*aim, std::move(estimate)};
}

EstimateSketch audience_sketch(Vec3 at, const std::vector<Vec3>& corners, double pan_deg, double coverage_deg) {
    EstimateSketch sketch{"Plan", {}, {}};
    std::vector<std::pair<double, double>> outline;
    double reach = 1.0;
    for (const Vec3 corner : corners) {
        outline.emplace_back(corner.x, corner.y);
        reach = std::max(reach, std::hypot(corner.x - at.x, corner.y - at.y));
    }
    outline.push_back(outline.front());
    sketch.strokes.push_back({Kind::audience, outline, ""});
    for (const double off : {-0.5 * coverage_deg, 0.0, 0.5 * coverage_deg}) sketch.strokes.push_back({off == 0.0 ? Kind::axis : Kind::edge, {{at.x, at.y}, ray(at, pan_deg + off, reach)}, ""});
    sketch.strokes.push_back({Kind::box, {{at.x, at.y}}, "box"});
    return sketch;
}

double mean_path_m(Vec3 at, const std::vector<Vec3>& corners) {
    double sum = 0.0;
    for (const Vec3 corner : corners) sum += distance(at, corner) / static_cast<double>(corners.size());
    return sum;
}

Result<Estimated<acoustics::HorizontalAim>> horizontal_estimate(const HorizontalQuestion& question) {
    const auto aim = acoustics::horizontal_aim(question.at, question.corners, question.coverage_deg, air_db_per_m(question.air, 2000, 8000, mean_path_m(question.at, question.corners)));
    if (!aim) return std::unexpected(aim.error());
    Estimate estimate{"horizontal-aim", "Horizontal aim", {fmt::format("Pan the box to {:.1f} degrees: the two outermost corners get the same level.", aim->pan_deg)}, {"pan turns from straight into the room towards stage left", "levels in the aim band with distance and air in, in the box's horizontal plane, by the beam model"}, {}, {}, {}};
    if (question.coverage_deg < 0.9 * aim->wanted_coverage_deg) estimate.says.push_back(fmt::format("The room wants {:.0f} degrees and the box has {:.0f}: the corners lie outside its coverage.", aim->wanted_coverage_deg, question.coverage_deg));
    estimate.figures = {{"pan_deg", "pan", aim->pan_deg, "deg", 2}, {"middle_pan_deg", "half-way between the corners", aim->middle_pan_deg, "deg", 2}, {"left_deg", "outermost corner, left", aim->left_deg, "deg", 2}, {"right_deg", "outermost corner, right", aim->right_deg, "deg", 2},
                        {"wanted_coverage_deg", "coverage the room wants", aim->wanted_coverage_deg, "deg", 1}, {"corner_db", "level at both corners re 1 m on axis", aim->corner_db, "dB", 1}};
    estimate.sketch = audience_sketch(question.at, question.corners, aim->pan_deg, question.coverage_deg);
    return Estimated<acoustics::HorizontalAim>{*aim, std::move(estimate)};
}

Result<Estimated<SplayAnswer>> splay_estimate(const SplayQuestion& question) {
    const plan::Model *one = question.measured_1, *two = question.measured_2;
    const bool measured = one != nullptr && two != nullptr;
    const double c1 = question.coverage_1_deg, c2 = question.coverage_2_deg;
    const auto found = measured ? acoustics::splay_for(*one->pattern_loss, *two->pattern_loss, question.vertical, one->aim_band_hz.low_hz, one->aim_band_hz.high_hz, question.quieter_db, question.join_db)
                                : acoustics::splay_for({c1, c2, question.quieter_db, question.join_db});
    if (!found) return std::unexpected(found.error());
    SplayAnswer answer{*found, {}};
    Estimate estimate{"splay", "Splay of a pair", {}, {}, {}, {}, {}};
    estimate.says.push_back(fmt::format("Open them by {:.1f} degrees: they meet {:.1f} degrees off the louder one's axis, {:g} dB below it, and cover {:.0f} degrees together.", found->splay_deg, found->join_from_1_deg, question.join_db, found->covered_deg));
    estimate.assumes = {"both in one place, levels in the aim band; at -6 dB two that arrive together sum to the level on the axis", measured ? "the measured patterns of the plan's models" : "the beam model, without side lobes"};
    estimate.figures = {{"splay_deg", "splay, in space", found->splay_deg, "deg", 2}, {"join_from_louder_deg", "join, from the louder axis", found->join_from_1_deg, "deg", 2}, {"axis_1_deg", "louder axis, from the middle", question.middle_deg + found->axis_1_deg, "deg", 2}, {"axis_2_deg", "other axis", question.middle_deg + found->axis_2_deg, "deg", 2}, {"covered_deg", "covered together", found->covered_deg, "deg", 1}};
    if (!question.vertical && (question.tilt_1_deg != 0.0 || question.tilt_2_deg != 0.0)) {
        const auto pan = acoustics::pan_apart_deg(found->splay_deg, question.tilt_1_deg, question.tilt_2_deg);
        if (!pan) return std::unexpected(pan.error());
        answer.pan_apart_deg = *pan;
        const bool level = question.tilt_1_deg == question.tilt_2_deg;
        estimate.figures.push_back({"pan_apart_deg", level ? "pans apart at that tilt" : "pans apart at their tilts", *pan, "deg", 2});
        estimate.says.push_back(level ? fmt::format("Tilted {:g} degrees, their pans are {:.1f} degrees apart.", question.tilt_1_deg, *pan)
                                      : fmt::format("Tilted {:g} and {:g} degrees, their pans are {:.1f} degrees apart.", question.tilt_1_deg, question.tilt_2_deg, *pan));
    }
    if (question.given_deg > 0.0) {
        const auto join = acoustics::join_of(question.given_deg, c1, c2, question.quieter_db);
        if (!join) return std::unexpected(join.error());
        const double below = 24.0 * *join * *join / (c1 * c1);
        estimate.figures.push_back({"join_at_given_deg", "join when opened as given", *join, "deg", 2});
        estimate.figures.push_back({"join_at_given_db", "level of each there", -below, "dB", 2});
        estimate.says.push_back(fmt::format("Opened by {:g} degrees they meet {:.1f} degrees off the louder axis, {:.1f} dB below it.", question.given_deg, *join, below));
    }
    EstimateSketch sketch{question.vertical ? "Pair from the side" : "Pair from above", {}, {}};
    for (const auto& [axis, cover] : {std::pair{found->axis_1_deg, c1}, {found->axis_2_deg, c2}}) {
        sketch.strokes.push_back({Kind::axis, {{0, 0}, ray({}, axis, 10.0)}, fmt::format("{:.1f} deg", axis)});
        for (const double edge : {-0.5, 0.5}) sketch.strokes.push_back({Kind::edge, {{0, 0}, ray({}, axis + edge * cover, 9.0)}, ""});
    }
    sketch.strokes.push_back({Kind::join, {ray({}, found->axis_1_deg - found->join_from_1_deg, 6.0)}, "join"});
    estimate.sketch = std::move(sketch);
    return Estimated<SplayAnswer>{answer, std::move(estimate)};
}

Result<Estimated<acoustics::Spacing>> spacing_estimate(const SpacingQuestion& question) {
    const acoustics::SpacingWish& wish = question.wish;
    const auto found = acoustics::spacing_for(wish);
    if (!found) return std::unexpected(found.error());
    Estimate estimate{"spacing", "Spacing of a row", {fmt::format("Hang them {} apart: their coverage meets {} ahead.", length_text(found->spacing_m, question.unit), length_text(wish.depth_m, question.unit))},
                      {"where they meet each is as far below the level straight ahead at that depth as asked, the longer way there in", "with a ruler: edges of coverage drawn as lines, without that"}, {}, {}, {}};
    estimate.figures = {{"spacing_m", "spacing", found->spacing_m, "m", 3}, {"join_from_louder_m", "join, from the louder box along the line", found->join_from_1_m, "m", 3}, {"angle_only_m", "spacing with a ruler", found->angle_only_m > 0.0 ? std::optional(found->angle_only_m) : std::nullopt, "m", 3}};
    if (question.boxes > 2) estimate.figures.push_back({"row_m", "whole row, equal boxes", found->spacing_m * (question.boxes - 1), "m", 3});
    EstimateSketch sketch{"Row from above", {}, {}};
    for (int i = 0; i < question.boxes; ++i) {
        const bool pair = question.boxes == 2;
        const double y = -found->spacing_m * i, pan = pair ? (i == 0 ? 0.5 : -0.5) * wish.splay_deg : 0.0, cover = i == 1 && pair ? wish.coverage_2_deg : wish.coverage_1_deg;
        const Vec3 at{0, y, 0};
        for (const double edge : {-0.5, 0.0, 0.5}) sketch.strokes.push_back({edge == 0.0 ? Kind::axis : Kind::edge, {{0, y}, ray(at, pan + edge * cover, 1.6 * wish.depth_m)}, ""});
        sketch.strokes.push_back({Kind::box, {{0, y}}, fmt::format("{}", i + 1)});
        if (i > 0) sketch.strokes.push_back({Kind::join, {{wish.depth_m, y + found->spacing_m - found->join_from_1_m}}, "join"});
    }
    estimate.sketch = std::move(sketch);
    return Estimated<acoustics::Spacing>{*found, std::move(estimate)};
}

}  // namespace proofwalk::walk
