#include "plan/place.hpp"

#include <filesystem>
#include <random>

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "plan/area.hpp"
#include "plan/checks.hpp"
#include "plan/example.hpp"
#include "plan/targets.hpp"
#include "plan/write.hpp"

namespace proofwalk::plan {
namespace {

TEST(Write, RoundTrips) {
    const Plan plan = plan_from(example_text);
    const std::string text = write(plan);
    const Plan again = plan_from(text);
    EXPECT_EQ(write(again), text);
    EXPECT_TRUE(same(plan, again));
    // Everything that checks and targets depend on is the same to the last bit.
    EXPECT_EQ(checks(plan), checks(again));
    const auto one = targets(plan, plan.air), two = targets(again, again.air);
    ASSERT_EQ(one.size(), two.size());
    for (std::size_t i = 0; i < one.size(); ++i) {
        EXPECT_EQ(one[i].arrival_s, two[i].arrival_s);
        EXPECT_EQ(one[i].aim_band_db, two[i].aim_band_db);
    }
}

TEST(Write, KeepsAwkwardNumbersAndTexts) {
    Plan plan = plan_from(example_text);
    std::mt19937_64 random(4);
    std::uniform_real_distribution<double> metres(-50.0, 50.0);
    plan.name = "A \"quoted\" \\ name\twith a tab and an \xc3\xa9";
    plan.boxes[0].patch = "out 1 > amp \"A1\"";
    plan.boxes[0].inverted = true;
    plan.models[0].level_1m_db = -38.1;
    plan.models[1].inverted = true;
    plan.rules.decision = Decision::simple;
    plan.rules.mic_place_m = 0.1;
    for (Box& box : plan.boxes) box.at = {metres(random), metres(random), metres(random)};
    for (Position& position : plan.positions) position.at = {metres(random), metres(random), metres(random)};
    const Plan again = plan_from(write(plan));
    EXPECT_EQ(again.name, plan.name);
    EXPECT_TRUE(same(plan, again));
    for (std::size_t i = 0; i < plan.boxes.size(); ++i) EXPECT_EQ(again.boxes[i].at, plan.boxes[i].at);
    EXPECT_FALSE(same(plan, plan_from(example_text)));
}

TEST(Write, RoundTripsTheSharedCases) {
    const std::filesystem::path cases = PROOFWALK_SOURCE_DIR "/../shared/cases";
    if (!std::filesystem::exists(cases)) GTEST_SKIP() << "no shared cases beside the source";
    for (const auto& folder : std::filesystem::directory_iterator(cases)) {
        if (!folder.is_directory()) continue;
        const auto found = load(folder.path() / "plan.toml");
        ASSERT_TRUE(found);
        EXPECT_TRUE(same(found->plan, plan_from(write(found->plan)))) << folder.path();
    }
}

class Placed : public testing::Test {
protected:
    Plan plan = plan_from(example_text);
    Placement placement = place(plan);
    Plan with() {
        plan.positions = placement.positions;
        return plan;
    }
};

TEST_F(Placed, StandsOnTheAudienceInsideTheMargin) {
    EXPECT_GE(placement.positions.size(), 5u);
    for (const Position& position : placement.positions) {
        ASSERT_NE(area_under(plan, position.at), nullptr) << position.id;
        const Area& area = *area_under(plan, position.at);
        const OnArea at = on_area(area, position.at);
        EXPECT_GE(at.along * distance(area.near, area.far), 0.39);
        EXPECT_LE(std::abs(at.across), 1.0 - 0.38 / (area.far_width_m / 2.0));
        EXPECT_NEAR(position.at.z, point_on(area, at).z, 0.006);
    }
}

TEST_F(Placed, ReadsBackAsAPlanWithoutFaults) {
    const auto again = read(write(with()), "plan.toml", ".");
    ASSERT_TRUE(again);
    for (const PlannedCheck& check : checks(again->plan)) EXPECT_THAT(check.missing, testing::IsEmpty()) << word(check.kind) << ' ' << check.subject;
}

TEST_F(Placed, EachRoleDoesWhatItIsFor) {
    for (const Position& position : placement.positions)
        for (const Serve& serve : position.serves) {
            const Box& box = *plan.box(serve.boxes[0]);
            const Model& model = plan.model_of(box);
            const Target here = target(plan, box, position, plan.air);
            if (model.pattern == Pattern::omni) continue;
            switch (serve.role) {
                case Role::on_axis: EXPECT_GT(here.loss_db, -3.0) << position.id; break;
                case Role::left_edge: EXPECT_GT(here.bearing.h_deg, 0.3 * model.coverage_h_deg / 2) << position.id; break;
                case Role::right_edge: EXPECT_LT(here.bearing.h_deg, -0.3 * model.coverage_h_deg / 2) << position.id; break;
                case Role::top_edge: EXPECT_GT(here.bearing.v_deg, 0.0) << position.id; break;
                case Role::bottom_edge: EXPECT_LT(here.bearing.v_deg, 0.0) << position.id; break;
                case Role::crossover: {
                    const Box& other = *plan.box(serve.boxes[1]);
                    if (other.model == box.model) { EXPECT_NEAR(here.aim_band_db, target(plan, other, position, plan.air).aim_band_db, 1.0) << position.id; }
                    break;
                }
            }
        }
}

TEST_F(Placed, MergesRoles) {
    std::size_t roles = 0;
    for (const Position& position : placement.positions) roles += position.serves.size();
    EXPECT_LT(placement.positions.size(), roles);
}

TEST_F(Placed, IsNamedInWalkingOrderAndKeepsPins) {
    for (std::size_t i = 0; i < placement.positions.size(); ++i) {
        EXPECT_EQ(placement.positions[i].id, fmt::format("p{:02}", i + 1));
    }
    PlaceOptions options;
    options.keep = {"p3"};
    const Placement pinned = place(plan, options);
    const auto found = std::ranges::find(pinned.positions, "p3", &Position::id);
    ASSERT_NE(found, pinned.positions.end());
    EXPECT_EQ(found->at, plan.position("p3")->at);
    int crossovers = 0;
    for (const Position& position : pinned.positions)
        for (const Serve& serve : position.serves) crossovers += serve.role == Role::crossover && serve.boxes == std::vector<std::string>{"M1", "M2"};
    EXPECT_EQ(crossovers, 1);
    options.keep_all = true;
    EXPECT_GE(place(plan, options).positions.size(), plan.positions.size());
}

TEST(Walk, IsNoLongerThanTheOrderOfAStranger) {
    std::mt19937 random(9);
    std::uniform_real_distribution<double> metres(0.0, 30.0);
    for (int round = 0; round < 50; ++round) {
        std::vector<Position> positions(20);
        for (Position& position : positions) position.at = {metres(random), metres(random) - 15.0, 1.2};
        const double before = walk_length_m(positions);
        EXPECT_LE(walk_length_m(in_walking_order(positions)), before + 1e-9);
    }
}

// Far down the room both fills are equal too, but nobody joins them there.
TEST(Place, PutsACrossoverWhereTheTwoMeetAndMergesWhatMeetsThere) {
    const auto demo = load(PROOFWALK_SOURCE_DIR "/fixtures/demo/plan.toml");
    ASSERT_TRUE(demo);
    const Plan& plan = demo->plan;
    const Placement placement = place(plan);
    const auto at = [&](Role role, const std::vector<std::string>& boxes) {
        for (const Position& position : placement.positions)
            for (const Serve& serve : position.serves)
                if (serve.role == role && serve.boxes == boxes) return position.at;
        ADD_FAILURE() << word(role) << " " << boxes.front() << " is not placed";
        return Vec3{};
    };
    for (const auto& [one, other] : {std::pair{"FF1", "FF2"}, {"FF2", "FF3"}, {"CA", "CB"}, {"UB1", "UB2"}, {"ML", "CA"}}) {
        const Vec3 crossover = at(Role::crossover, {one, other});
        const Vec3 between = 0.5 * (at(Role::on_axis, {one}) + at(Role::on_axis, {other}));
        EXPECT_LT(distance(crossover, between), 3.0) << one << " and " << other;
    }
    // A mic for each role would be 60 stands.
    std::size_t roles = 0;
    for (const Position& position : placement.positions) roles += position.serves.size();
    EXPECT_EQ(roles, 60u);
    EXPECT_LE(placement.positions.size(), 38u);
}

TEST(Place, SaysWhatItCannotPlace) {
    Plan plan = plan_from(example_text);
    plan.boxes[0].tilt_deg = 60.0;  // into the ceiling
    const Placement placement = place(plan);
    EXPECT_TRUE(std::ranges::any_of(placement.unplaced, [](const Unplaced& one) { return one.role == Role::on_axis && one.boxes == std::vector<std::string>{"M1"}; }));
    plan.areas.clear();
    EXPECT_EQ(place(plan).unplaced.size(), 1u);
    EXPECT_TRUE(place(plan).positions.empty());
}

}  // namespace
}  // namespace proofwalk::plan
