#include "acoustics/geometry.hpp"

#include <cmath>
#include <random>

#include <gtest/gtest.h>

#include "units/convert.hpp"

namespace proofwalk::acoustics {
namespace {

void expect_near(Vec3 a, Vec3 b) { EXPECT_LT(distance(a, b), 1e-12) << a.x << ' ' << a.y << ' ' << a.z; }

TEST(Axes, AreRightHandedUnitVectors) {
    std::mt19937 random(1);
    std::uniform_real_distribution<double> angle(-180.0, 180.0);
    for (int i = 0; i < 1000; ++i) {
        const Axes own = axes(angle(random), angle(random) / 2.0);
        EXPECT_NEAR(length(own.forward), 1.0, 1e-12);
        EXPECT_NEAR(length(own.left), 1.0, 1e-12);
        expect_near(cross(own.forward, own.left), own.up);
        EXPECT_NEAR(own.left.z, 0.0, 1e-15);  // roll is zero
        EXPECT_GE(own.up.z, -1e-12);
    }
}

TEST(Axes, PanTurnsTowardsLeftAndTiltLifts) {
    expect_near(axes(0, 0).forward, {1, 0, 0});
    expect_near(axes(0, 0).left, {0, 1, 0});
    expect_near(axes(90, 0).forward, {0, 1, 0});
    expect_near(axes(0, 90).forward, {0, 0, 1});
    EXPECT_GT(axes(0, 10).forward.z, 0.0);
}

TEST(Bearing, SignsAreTheBoxesOwn) {
    const Pose box{{0, 0, 4}, 0.0, 0.0};
    EXPECT_GT(bearing(box, {10, 2, 4}).h_deg, 0.0);  // to its left
    EXPECT_LT(bearing(box, {10, 0, 1}).v_deg, 0.0);  // below its axis
    const Pose low{{0, 0, 4}, 0.0, -20.0};
    EXPECT_GT(bearing(low, {30, 0, 1}).v_deg, 0.0);  // above the axis of a box aimed at the floor nearby
    EXPECT_NEAR(std::abs(bearing(box, {-5, 0, 4}).h_deg), 180.0, 1e-12);
    EXPECT_EQ(bearing(box, box.at).distance_m, 0.0);
}

TEST(Bearing, OfThePointOnTheAxisIsZero) {
    std::mt19937 random(2);
    std::uniform_real_distribution<double> angle(-180.0, 180.0), metres(-20.0, 20.0), reach(0.5, 60.0);
    for (int i = 0; i < 1000; ++i) {
        const Pose box{{metres(random), metres(random), metres(random)}, angle(random), angle(random) * 0.49};
        const double distance_m = reach(random);
        const Bearing seen = bearing(box, box.at + distance_m * axes(box.pan_deg, box.tilt_deg).forward);
        EXPECT_NEAR(seen.distance_m, distance_m, 1e-9);
        EXPECT_NEAR(seen.h_deg, 0.0, 1e-6);
        EXPECT_NEAR(seen.v_deg, 0.0, 1e-6);
    }
}

TEST(Direction, LeadsBackToTheAxis) {
    std::mt19937 random(3);
    std::uniform_real_distribution<double> metres(-20.0, 20.0);
    for (int i = 0; i < 1000; ++i) {
        const Vec3 from{metres(random), metres(random), metres(random)}, to{metres(random), metres(random), metres(random)};
        const Direction towards = direction(from, to);
        const Bearing seen = bearing({from, towards.pan_deg, towards.tilt_deg}, to);
        EXPECT_NEAR(seen.h_deg, 0.0, 1e-9);
        EXPECT_NEAR(seen.v_deg, 0.0, 1e-9);
    }
}

TEST(AngleBetween, IsTheAngleInSpace) {
    EXPECT_NEAR(angle_between_deg({10, 0}, {-15, 0}), 25.0, 1e-9);
    EXPECT_NEAR(angle_between_deg({0, 10}, {0, -15}), 25.0, 1e-9);
    EXPECT_NEAR(angle_between_deg({0, 60}, {180, 60}), 60.0, 1e-9);
    // Two boxes tilted alike open less in space than on the floor plan: cos S = sin^2 t + cos^2 t cos P.
    const double tilt = radians(-29.76), pan = radians(49.0);
    const double expected = degrees(std::acos(std::sin(tilt) * std::sin(tilt) + std::cos(tilt) * std::cos(tilt) * std::cos(pan)));
    EXPECT_NEAR(angle_between_deg({24.5, -29.76}, {-24.5, -29.76}), expected, 1e-9);
    EXPECT_NEAR(angle_between_deg({1e-5, 0}, {0, 0}), 1e-5, 1e-12);
}

}  // namespace
}  // namespace proofwalk::acoustics
