// Estimates asked of a plan: what is taken over into the plan does what the estimate says, checked by the plan's own targets.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "app/plan_edit.hpp"
#include "plan/area.hpp"
#include "plan/targets.hpp"
#include "units/convert.hpp"
#include "walk/desk_estimates.hpp"

namespace proofwalk::app {
namespace {

using walk::DeskQuestion;

plan::Plan demo() {
    auto file = plan::load(PROOFWALK_SOURCE_DIR "/fixtures/demo/plan.toml");
    EXPECT_TRUE(file.has_value());
    return file->plan;
}

// The plan with the suggestions taken over.
plan::Plan taken_over(plan::Plan plan, const walk::DeskAnswer& answer) {
    for (const auto& suggestion : answer.suggestions)
        for (auto& box : plan.boxes) {
            if (box.id != suggestion.box) continue;
            if (suggestion.key == "tilt_deg") box.tilt_deg = suggestion.value;
            if (suggestion.key == "pan_deg") box.pan_deg = suggestion.value;
            if (suggestion.key == "delay_ms") box.delay_ms = suggestion.value;
            if (suggestion.key == "x") box.at.x = suggestion.value;
            if (suggestion.key == "y") box.at.y = suggestion.value;
        }
    return plan;
}

double level_at(const plan::Plan& plan, const std::string& box, Vec3 at) {
    plan::Position place;
    place.id = "here";
    place.at = at;
    return plan::target(plan, *plan.box(box), place, plan.air).aim_band_db;
}

TEST(DeskEstimate, VerticalAimGivesFrontAndBackRowTheSameLevel) {
    plan::Plan plan = demo();
    for (auto& box : plan.boxes)
        if (box.id == "UB2") box.pan_deg = 0.0;
    const auto answer = walk::desk_estimate(plan, DeskQuestion::vertical_aim, "UB2", "under-balcony");
    ASSERT_TRUE(answer.has_value()) << (answer ? "" : sentence(answer.error()));
    ASSERT_EQ(answer->suggestions.size(), 1U);
    EXPECT_EQ(answer->area, "under-balcony");
    EXPECT_TRUE(answer->estimate.sketch.has_value());
    const plan::Plan after = taken_over(plan, *answer);
    const plan::Box& box = *after.box("UB2");
    const plan::Area& area = after.areas.at(1);
    const auto row = [&](double along) { return plan::point_on(area, {along, plan::on_area(area, {0.0, box.at.y, 0.0}).across}); };
    const double front_x = std::max(row(0.0).x, box.at.x + 0.3);
    Vec3 front = row(0.0);
    front.x = front_x;
    EXPECT_NEAR(level_at(after, "UB2", front), level_at(after, "UB2", row(1.0)), 0.15);
}

TEST(DeskEstimate, EveryBeamBoxOfTheDemoGetsAnAim) {
    const plan::Plan plan = demo();
    for (const auto& box : plan.boxes)
        for (const auto question : {DeskQuestion::vertical_aim, DeskQuestion::horizontal_aim}) {
            const auto answer = walk::desk_estimate(plan, question, box.id);
            if (!answer) {
                EXPECT_FALSE(sentence(answer.error()).empty());
                continue;
            }
            ASSERT_EQ(answer->suggestions.size(), 1U);
            EXPECT_TRUE(std::isfinite(answer->suggestions.front().value));
            EXPECT_LT(std::abs(answer->suggestions.front().value), 90.0) << box.id;
        }
}

TEST(DeskEstimate, SplayTakenOverOpensThePairInSpace) {
    const plan::Plan plan = demo();
    const auto answer = walk::desk_estimate(plan, DeskQuestion::splay, "CA");
    ASSERT_TRUE(answer.has_value()) << (answer ? "" : sentence(answer.error()));
    EXPECT_EQ(answer->partner, "CB");
    const plan::Plan after = taken_over(plan, *answer);
    const auto axis = [&](const std::string& id) {
        const plan::Box& box = *after.box(id);
        const double pan = radians(box.pan_deg), tilt = radians(box.tilt_deg);
        return Vec3{std::cos(tilt) * std::cos(pan), std::cos(tilt) * std::sin(pan), std::sin(tilt)};
    };
    const double opened = degrees(std::acos(dot(axis("CA"), axis("CB"))));
    const auto splay = std::ranges::find(answer->estimate.figures, "splay_deg", &report::EstimateFigure::key);
    ASSERT_NE(splay, answer->estimate.figures.end());
    EXPECT_NEAR(opened, *splay->value, 0.01);
    EXPECT_GT(after.box("CA")->pan_deg, after.box("CB")->pan_deg) << "who points to the left goes on doing so";
}

TEST(DeskEstimate, SpacingTakenOverSetsTheDistance) {
    const plan::Plan plan = demo();
    const auto answer = walk::desk_estimate(plan, DeskQuestion::spacing, "FF1", {}, "FF2");
    ASSERT_TRUE(answer.has_value()) << (answer ? "" : sentence(answer.error()));
    const plan::Plan after = taken_over(plan, *answer);
    const Vec3 one = after.box("FF1")->at, two = after.box("FF2")->at;
    const auto spacing = std::ranges::find(answer->estimate.figures, "spacing_m", &report::EstimateFigure::key);
    ASSERT_NE(spacing, answer->estimate.figures.end());
    EXPECT_NEAR(std::hypot(one.x - two.x, one.y - two.y), *spacing->value, 1e-6);
    EXPECT_EQ(after.box("FF2")->at, plan.box("FF2")->at);
}

TEST(DeskEstimate, DelayTakenOverMakesBothArriveTogether) {
    plan::Plan plan = demo();
    for (auto& box : plan.boxes)
        if (box.id == "D1") box.delay_ms = 0.0;
    for (const std::string id : {"D1", "FF1"}) {
        const auto answer = walk::desk_estimate(plan, DeskQuestion::delay, id);
        ASSERT_TRUE(answer.has_value()) << id << (answer ? "" : sentence(answer.error()));
        const plan::Plan after = taken_over(plan, *answer);
        const plan::Position* place = after.crossover_of(id, answer->partner);
        if (place == nullptr) place = after.crossover_of(answer->partner, id);
        ASSERT_NE(place, nullptr);
        EXPECT_NEAR(plan::target(after, *after.box(id), *place, after.air).arrival_s, plan::target(after, *after.box(answer->partner), *place, after.air).arrival_s, 1e-6) << id;
        for (const auto& suggestion : answer->suggestions) EXPECT_GE(suggestion.value, 0.0);
    }
}

TEST(DeskEstimate, WhatCannotBeAskedSaysWhy) {
    plan::Plan plan = demo();
    EXPECT_FALSE(walk::desk_estimate(plan, DeskQuestion::vertical_aim, "nobody").has_value());
    EXPECT_FALSE(walk::desk_estimate(plan, DeskQuestion::vertical_aim, "ML", "no such area").has_value());
    EXPECT_FALSE(walk::desk_estimate(plan, DeskQuestion::splay, "FF1").has_value()) << "a fill in a row is not splayed";
    EXPECT_FALSE(walk::desk_estimate(plan, DeskQuestion::delay, "ML", {}, "UB3").has_value()) << "no neighbours";
    plan.areas.clear();
    const auto none = walk::desk_estimate(plan, DeskQuestion::horizontal_aim, "ML");
    ASSERT_FALSE(none.has_value());
    EXPECT_NE(none.error().reason.find("no audience area"), std::string::npos);
    for (auto& model : plan.models) model.pattern = plan::Pattern::omni;
    EXPECT_FALSE(walk::desk_estimate(demo(), DeskQuestion::splay, "D1").has_value());
    EXPECT_FALSE(walk::desk_estimate(plan, DeskQuestion::splay, "CA").has_value());
}

// What the desk takes over is what the estimate suggested, in one step back.
TEST(DeskEstimate, TakenOverIntoTheDraft) {
    const auto file = plan::load(PROOFWALK_SOURCE_DIR "/fixtures/demo/plan.toml");
    Draft draft{file->bytes, PROOFWALK_SOURCE_DIR "/fixtures/demo"};
    const auto answer = walk::desk_estimate(draft.plan(), DeskQuestion::splay, "CA");
    ASSERT_TRUE(answer.has_value());
    std::vector<FigureEdit> edits;
    for (const auto& suggestion : answer->suggestions) edits.push_back({suggestion.box, suggestion.key, suggestion.value, suggestion.decimals});
    ASSERT_TRUE(draft.set_figures(edits).has_value());
    for (const auto& suggestion : answer->suggestions) EXPECT_NEAR(draft.plan().box(suggestion.box)->pan_deg, suggestion.value, 0.005);
    draft.undo();
    EXPECT_EQ(draft.text(), file->bytes);
}

}  // namespace
}  // namespace proofwalk::app
