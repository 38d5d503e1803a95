// Planned and actual time side by side, and what the next plan learns from it.
#include "walk/timed_steps.hpp"

#include <cmath>

#include <gtest/gtest.h>

#include "plan/read.hpp"

namespace proofwalk::walk {
namespace {

const plan::Plan& demo() {
    static const plan::Plan plan = [] {
        auto file = plan::load(std::string(PROOFWALK_SOURCE_DIR) + "/fixtures/demo/plan.toml");
        if (!file) throw std::runtime_error(sentence(file.error().front()));
        return file->plan;
    }();
    return plan;
}

log::TakeTime taken_at(std::int64_t number, std::int64_t utc_s, std::string places, std::string circuits, std::string device = "card") {
    log::TakeTime take;
    take.number = number;
    take.label = "t" + std::to_string(number);
    take.when.utc_s = utc_s;
    take.circuit = std::move(circuits);
    take.places = std::move(places);
    take.device = std::move(device);
    return take;
}

TEST(TimedSteps, PlannedAndActualStandSideBySide) {
    const route::Crew crew;
    const std::vector<log::TakeTime> takes = {taken_at(1, 1000, "m1@p01 m2@p02", "ML"), taken_at(2, 1009, "m1@p01 m2@p02", "MR"),
                                              taken_at(3, 1070, "m1@p03 m2@p02", "MR"), taken_at(4, 1100, "m1@p03 m2@p02", "FF1+FF2+FF3"),
                                              taken_at(5, 9000, "m1@p03 m2@p02", "ML"), taken_at(6, 9010, "m1@p03 m2@p02", "ML", "rehearsal")};
    const auto steps = timed_steps(demo(), takes, crew);
    ASSERT_EQ(steps.size(), 3u);  // the break and the rehearsal are no steps
    EXPECT_EQ(steps[0].kind(), StepKind::next_circuit);
    EXPECT_DOUBLE_EQ(steps[0].planned_s(), crew.take_s + crew.mute_change_s);
    EXPECT_DOUBLE_EQ(steps[0].time.actual_s, 9.0);
    EXPECT_EQ(steps[1].kind(), StepKind::carried);
    EXPECT_EQ(steps[1].carried, 1u);
    EXPECT_GT(steps[1].time.walk_s, 0.0);
    EXPECT_DOUBLE_EQ(steps[1].time.place_s, crew.place_s);
    EXPECT_EQ(steps[1].label, "t3");
    EXPECT_EQ(steps[2].kind(), StepKind::overlapped);
    EXPECT_DOUBLE_EQ(steps[2].planned_s(), crew.take_s + 2.0 * crew.overlap_gap_s);
}

TEST(TimedSteps, ListeningToTheRoomBelongsToTheStepAround) {
    const route::Crew crew;
    const auto steps = timed_steps(demo(), {taken_at(1, 0, "m1@p01", "ML"), taken_at(2, 40, "", ""), taken_at(3, 52, "m1@p02", "ML")}, crew);
    ASSERT_EQ(steps.size(), 1u);
    EXPECT_EQ(steps[0].carried, 1u);
    EXPECT_DOUBLE_EQ(steps[0].time.actual_s, 52.0);
    EXPECT_DOUBLE_EQ(steps[0].time.take_s, 2.0 * crew.take_s + crew.mute_change_s);
}

// A crew that needs twice the planned time for everything.
TEST(TimedSteps, TheNextPlanReckonsWithWhatTheCrewTook) {
    const route::Crew crew;
    std::vector<log::TakeTime> takes = {taken_at(1, 0, "m1@p01 m2@p02", "ML")};
    std::int64_t now = 0;
    const auto add = [&](const char* places, const char* circuit) {
        takes.push_back(taken_at(static_cast<std::int64_t>(takes.size()) + 1, now, places, circuit));
        takes.back().when.utc_s = now += std::llround(2.0 * timed_steps(demo(), {takes[takes.size() - 2], [&] {
                                                          auto late = takes.back();
                                                          late.when.utc_s = takes[takes.size() - 2].when.utc_s + 1;
                                                          return late;
                                                      }()}, crew).front().planned_s());
    };
    for (const char* places : {"m1@p01 m2@p02", "m1@p05 m2@p12", "m1@p20 m2@p14", "m1@p01 m2@p22", "m1@p08 m2@p11"})
        for (const char* circuit : {"ML", "MR", "CA"}) add(places, circuit);
    const CrewTimes times = crew_times(demo(), takes, crew);
    EXPECT_EQ(times.learnt_from, takes.size() - 1);
    EXPECT_NEAR(times.crew.walk_mps, crew.walk_mps / 2.0, 0.05 * crew.walk_mps);
    EXPECT_NEAR(times.crew.place_s, 2.0 * crew.place_s, 0.1 * crew.place_s);
    EXPECT_NEAR(times.crew.take_s, 2.0 * crew.take_s, 0.1 * crew.take_s);
    ASSERT_EQ(times.kinds.size(), 2u);
    for (const KindOfStep& kind : times.kinds) {
        EXPECT_NEAR(kind.took_s, 2.0 * kind.planned_s, 0.02 * kind.took_s + 0.5);
        EXPECT_NEAR(kind.reckoned_s, kind.took_s, 0.05 * kind.took_s);
    }
    EXPECT_NEAR(times.took_s, static_cast<double>(now), 1e-9);
}

TEST(TimedSteps, TooFewStepsTeachNothing) {
    const CrewTimes times = crew_times(demo(), {taken_at(1, 0, "m1@p01", "ML"), taken_at(2, 100, "m1@p01", "MR")}, {});
    EXPECT_EQ(times.learnt_from, 0u);
    EXPECT_DOUBLE_EQ(times.crew.take_s, route::Crew{}.take_s);
    ASSERT_EQ(times.kinds.size(), 1u);
    EXPECT_DOUBLE_EQ(times.kinds[0].reckoned_s, times.kinds[0].planned_s);
}

}  // namespace
}  // namespace proofwalk::walk
