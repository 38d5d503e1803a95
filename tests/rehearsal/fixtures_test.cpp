// The invented plans of fixtures/ keep what their derivation promises, worked out here by the product's own geometry.

#include <gtest/gtest.h>

#include <cmath>

#include "plan/checks.hpp"
#include "plan/read.hpp"
#include "plan/targets.hpp"

namespace proofwalk::rehearsal {
namespace {

plan::PlanFile loaded(const std::string& name) {
    auto file = plan::load(std::string(PROOFWALK_SOURCE_DIR) + "/fixtures/" + name + "/plan.toml");
    if (!file) throw std::runtime_error(sentence(file.error().front()));
    return *file;
}

class Fixture : public testing::TestWithParam<std::string> {};

TEST_P(Fixture, IsSoundAndMarkedInvented) {
    const auto file = loaded(GetParam());
    EXPECT_TRUE(file.warnings.empty()) << file.warnings.front();
    EXPECT_NE(file.plan.name.find("(invented)"), std::string::npos);
    EXPECT_NE(file.bytes.find("# An invented venue"), std::string::npos);
}

TEST_P(Fixture, AxesMeetTheirPositionsAndCrossoversTheirLevelsAndArrivals) {
    const plan::Plan plan = loaded(GetParam()).plan;
    for (const plan::Position& position : plan.positions)
        for (const plan::Serve& serve : position.serves) {
            const auto of = [&](const std::string& id) { return plan::target(plan, *plan.box(id), position, plan.air); };
            if (serve.role == plan::Role::on_axis) {
                EXPECT_NEAR(of(serve.boxes[0]).bearing.h_deg, 0.0, 0.1) << position.id;
                EXPECT_NEAR(of(serve.boxes[0]).bearing.v_deg, 0.0, 0.1) << position.id;
            } else if (serve.role == plan::Role::crossover) {
                const plan::Target first = of(serve.boxes[0]), second = of(serve.boxes[1]);
                EXPECT_NEAR(first.aim_band_db, second.aim_band_db, 0.1) << position.id;
                EXPECT_NEAR(first.arrival_s, second.arrival_s, 0.00003) << position.id;
            }
        }
}

TEST_P(Fixture, AsksForEveryKindOfCheckThatItCan) {
    const plan::Plan plan = loaded(GetParam()).plan;
    for (const plan::PlannedCheck& check : plan::checks(plan)) EXPECT_FALSE(check.positions.empty()) << check.subject;
}

INSTANTIATE_TEST_SUITE_P(Plans, Fixture, testing::Values("demo", "small"), [](const auto& plan) { return plan.param; });

}  // namespace
}  // namespace proofwalk::rehearsal
