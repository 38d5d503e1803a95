#include "plan/targets.hpp"

#include <cmath>

#include <gtest/gtest.h>

#include "plan/example.hpp"
#include "units/convert.hpp"

namespace proofwalk::plan {
namespace {

TEST(Target, ArrivalIsTravelPlusDelayAndLatencies) {
    const Plan plan = plan_from(example_text);
    const Target t = target(plan, *plan.box("M2"), *plan.position("p2"), plan.air);
    const double metres = distance({0, -6, 4.5}, {14, -4, 1.2});
    EXPECT_NEAR(t.bearing.distance_m, metres, 1e-12);
    EXPECT_NEAR(t.travel_s, metres / acoustics::speed_of_sound(plan.air).value, 1e-12);
    EXPECT_NEAR(t.arrival_s, t.travel_s + (2.0 + 1.8) / 1000.0, 1e-12);
    EXPECT_TRUE(t.serves);
    EXPECT_FALSE(target(plan, *plan.box("M2"), *plan.position("p1"), plan.air).serves);
    EXPECT_EQ(t.circuit, "M2");
}

TEST(Target, LevelIsGainDistancePatternAndAir) {
    const Plan plan = plan_from(example_text);
    const Box& box = *plan.box("M2");
    const Position& place = *plan.position("p3");
    const Target t = target(plan, box, place, plan.air);
    EXPECT_NEAR(t.loss_db, -6.0 * (std::pow(t.bearing.h_deg / 45.0, 2) + std::pow(t.bearing.v_deg / 30.0, 2)), 1e-9);
    EXPECT_NEAR(t.aim_band_db, -1.5 - amplitude_db(t.bearing.distance_m) + t.loss_db + t.air_db, 1e-9);
    EXPECT_LT(t.air_db, 0.0);
    EXPECT_NEAR(power_mean_db(t.shape_db, 2000, 8000), t.aim_band_db, 1e-9);
    // One band by hand: 4 kHz has 3981 Hz as exact midband.
    const double by_hand = -1.5 - 20 * std::log10(t.bearing.distance_m) + t.loss_db -
                           acoustics::absorption_db_per_m(plan.air, midband_hz(23)) * t.bearing.distance_m;
    EXPECT_NEAR(t.shape_db[23], by_hand, 1e-9);
    EXPECT_FALSE(t.shape_db.has(0));  // 20 Hz lies below the box's range
}

TEST(Target, SiteAirChangesTravelNotDelay) {
    const Plan plan = plan_from(example_text);
    const Target planned = target(plan, *plan.box("M1"), *plan.position("p1"), plan.air);
    const Target warm = target(plan, *plan.box("M1"), *plan.position("p1"), {30.0, 40.0, 101.325});
    EXPECT_LT(warm.travel_s, planned.travel_s);
    EXPECT_NEAR(warm.arrival_s - warm.travel_s, planned.arrival_s - planned.travel_s, 1e-15);
}

TEST(Target, DeclaredOneMetreLevelIsAdded) {
    Plan plan = plan_from(example_text);
    const double without = target(plan, plan.boxes[0], plan.positions[0], plan.air).aim_band_db;
    plan.models[0].level_1m_db = -38.0;
    EXPECT_NEAR(target(plan, plan.boxes[0], plan.positions[0], plan.air).aim_band_db, without - 38.0, 1e-9);
}

TEST(Targets, AreOnePerBoxAndPosition) {
    const Plan plan = plan_from(example_text);
    const auto all = targets(plan, plan.air);
    EXPECT_EQ(all.size(), plan.boxes.size() * plan.positions.size());
    for (const Target& t : all) {
        EXPECT_TRUE(std::isfinite(t.aim_band_db) && std::isfinite(t.arrival_s));
        EXPECT_GT(t.arrival_s, 0.0);
    }
}

TEST(PathLoss, ClosedForms) {
    const acoustics::Air air;
    // 1 to 10 m is 20 dB of distance; the air adds its share of the 9 m between.
    const double alpha = acoustics::absorption_db_per_m(air, 1000.0);
    EXPECT_NEAR(path_loss_db(10.0, air, 1000.0) - path_loss_db(1.0, air, 1000.0), -20.0 - 9.0 * alpha, 1e-12);
    EXPECT_LT(path_loss_db(50.0, air, Band{2000, 8000}), path_loss_db(50.0, air, 1000.0));
    EXPECT_TRUE(std::isfinite(path_loss_db(0.0, air, 1000.0)));
}

}  // namespace
}  // namespace proofwalk::plan
