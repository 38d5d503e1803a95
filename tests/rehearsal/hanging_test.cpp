#include "acoustics/geometry.hpp"
#include "rehearsal/rehearsed.hpp"

namespace proofwalk::rehearsal {
namespace {

std::vector<Hung> hung_with(const plan::Plan& plan, std::string_view fault) {
    return (*make_room(plan, with_fault(plan, fault)))->hung();
}

double angle_deg(const Hung& a, const Hung& b) {
    return acoustics::angle_between_deg({a.pose.pan_deg, a.pose.tilt_deg}, {b.pose.pan_deg, b.pose.tilt_deg});
}

TEST(Hanging, ExactIsThePlan) {
    const plan::Plan plan = two_boxes();
    const auto hung = (*make_room(plan, exact()))->hung();
    ASSERT_EQ(hung.size(), 2u);
    EXPECT_EQ(hung[1].pose.at, plan.boxes[1].at);
    EXPECT_EQ(hung[1].fed_by, "B");
}

TEST(Hanging, SpreadIsSmall) {
    const plan::Plan plan = two_boxes();
    double widest = 0.0;
    for (unsigned seed = 1; seed <= 50; ++seed) {
        Settings settings;
        settings.seed = seed;
        for (const Hung& box : (*make_room(plan, settings))->hung()) widest = std::max(widest, std::abs(box.pose.pan_deg));
    }
    EXPECT_GT(widest, 0.1);
    EXPECT_LE(widest, 0.5);
}

TEST(Hanging, SplayTurnsTheSecondBoxByTheAngleInSpace) {
    plan::Plan plan = two_boxes();
    plan.boxes[0].pan_deg = 20.0;
    plan.boxes[1].pan_deg = -20.0;
    plan.boxes[0].tilt_deg = plan.boxes[1].tilt_deg = -25.0;
    const double planned = angle_deg((*make_room(plan, exact()))->hung()[0], (*make_room(plan, exact()))->hung()[1]);
    for (const double amount : {-6.0, 4.0}) {
        const auto hung = hung_with(plan, "A+B:splay:" + std::to_string(amount));
        EXPECT_NEAR(angle_deg(hung[0], hung[1]), planned + amount, 1e-6);
        EXPECT_EQ(hung[0].pose.pan_deg, 20.0);
        EXPECT_EQ(hung[1].pose.tilt_deg, -25.0);
    }
}

TEST(Hanging, SplayOfAVerticalPairTilts) {
    plan::Plan plan = two_boxes();
    plan.boxes[1].tilt_deg = -30.0;
    const auto hung = hung_with(plan, "A+B:splay:5");
    EXPECT_NEAR(hung[1].pose.tilt_deg, -35.0, 1e-6);
    EXPECT_EQ(hung[1].pose.pan_deg, 0.0);
}

TEST(Hanging, ParallelBoxesOpenAwayFromEachOther) {
    EXPECT_NEAR(hung_with(two_boxes(), "A+B:splay:5")[1].pose.pan_deg, -5.0, 1e-6);  // B hangs to the right of A
}

TEST(Hanging, SpacingMovesTheSecondBoxAlongTheLine) {
    const auto hung = hung_with(two_boxes(), "A+B:spacing:0.4");
    EXPECT_NEAR(hung[1].pose.at.y, -3.4, 1e-12);
    EXPECT_EQ(hung[0].pose.at.y, 3.0);
}

TEST(Hanging, ImpossiblePairsAreRefused) {
    const plan::Plan plan = two_boxes();
    EXPECT_FALSE(make_room(plan, with_fault(plan, "A+B:splay:-6")));      // they are parallel
    EXPECT_FALSE(make_room(plan, with_fault(plan, "A+B:spacing:-6")));
}

TEST(Hanging, SwapTakesTheProcessingAlong) {
    plan::Plan plan = two_boxes();
    plan.boxes[1].delay_ms = 7.0;
    plan.boxes[1].gain_db = -3.0;
    const auto hung = hung_with(plan, "A:swap:B");
    EXPECT_EQ(hung[0].fed_by, "B");
    EXPECT_EQ(hung[0].delay_ms, 7.0);
    EXPECT_EQ(hung[0].gain_db, -3.0);
    EXPECT_EQ(hung[1].fed_by, "A");
    EXPECT_EQ(hung[1].delay_ms, 0.0);
}

TEST(Hanging, AFaultOfACircuitIsOneOfAllItsBoxes) {
    plan::Plan plan = two_boxes();
    plan.boxes[0].circuit = plan.boxes[1].circuit = "AB";
    const auto hung = hung_with(plan, "AB:gain:-4");
    EXPECT_EQ(hung[0].gain_db, -4.0);
    EXPECT_EQ(hung[1].gain_db, -4.0);
}

}  // namespace
}  // namespace proofwalk::rehearsal
