#include <algorithm>
#include <limits>
#include <numeric>

#include <gtest/gtest.h>

#include "walk/errands.hpp"
#include "walk/route/ground.hpp"

namespace proofwalk::walk::route {
namespace {

// Every assignment in every order, by plain enumeration.
double least_of_all(const Distances& distances, std::vector<std::size_t> stands, const std::vector<std::size_t>& wanted, std::size_t crew_at) {
    double least = std::numeric_limits<double>::infinity();
    std::ranges::sort(stands);
    do {
        std::vector<std::size_t> order = wanted;
        std::ranges::sort(order);
        do {
            double sum = 0.0;
            std::size_t at = crew_at;
            for (std::size_t index = 0; index < order.size(); ++index) {
                sum += distances(at, stands[index]) + distances(stands[index], order[index]);
                at = order[index];
            }
            least = std::min(least, sum);
        } while (std::ranges::next_permutation(order).found);
    } while (std::ranges::next_permutation(stands).found);
    return least;
}

class Changeovers : public testing::TestWithParam<unsigned> {};

TEST_P(Changeovers, ExactIsTheLeastOfAllOrdersAndItsCarriesAddUp) {
    const Ground ground(generated_errand(GetParam(), 10, 2, 4));
    for (std::size_t count : {1u, 2u, 3u, 4u}) {
        std::vector<std::size_t> stands(4), wanted(count);
        std::iota(stands.begin(), stands.end(), 0);
        std::iota(wanted.begin(), wanted.end(), 5);
        const ExactChangeover changeover(ground.distances(), stands, wanted, 0);
        const auto& best = *std::ranges::min_element(changeover.outcomes(), {}, &ExactChangeover::Outcome::seconds);
        const double least = least_of_all(ground.distances(), stands, wanted, 0);
        EXPECT_NEAR(best.seconds, least, 1e-9);
        EXPECT_LE(changeover_bound(ground.distances(), stands, wanted), least + 1e-9);
        const Changeover carried = changeover.with(best), quick = quick_changeover(ground.distances(), stands, wanted, 0);
        EXPECT_GE(quick.seconds, least - 1e-9);
        EXPECT_LE(quick.seconds, 1.35 * least);
        for (const Changeover& way : {carried, quick}) {
            double sum = 0.0;
            std::size_t at = 0;
            std::vector<std::size_t> filled;
            for (const Carry& carry : way.carries) {
                sum += ground.distances()(at, carry.from) + ground.distances()(carry.from, carry.to);
                at = carry.to;
                filled.push_back(carry.to);
            }
            EXPECT_NEAR(sum, way.seconds, 1e-9);
            std::ranges::sort(filled);
            EXPECT_EQ(filled, wanted);
        }
    }
}

INSTANTIATE_TEST_SUITE_P(Seeds, Changeovers, testing::Range(1u, 21u));

TEST(Changeover, FromOneHeapIsOutAndBackButForTheLast) {
    Errand errand = generated_errand(3, 4, 4, 4);
    const Ground ground(errand);
    const std::vector<std::size_t> wanted{0, 1, 2};
    const ExactChangeover changeover(ground.distances(), ground.first_stands(), wanted, ground.crew_node());
    const std::vector<std::size_t> three(ground.first_stands().begin(), ground.first_stands().begin() + 3);
    EXPECT_NEAR(std::ranges::min_element(changeover.outcomes(), {}, &ExactChangeover::Outcome::seconds)->seconds,
                least_of_all(ground.distances(), three, wanted, ground.crew_node()), 1e-9);
}

TEST(Crew, StairsAndAislesCostTime) {
    Crew crew;
    EXPECT_DOUBLE_EQ(walk_s(crew, {0, 0, 1.2}, {12, 0, 1.2}), 12.0 * crew.detour / crew.walk_mps);
    EXPECT_NEAR(walk_s(crew, {0, 0, 1.2}, {12, 0, 5.2}) - walk_s(crew, {0, 0, 1.2}, {12, 0, 1.2}), 3.5 * crew.stairs_s_per_m, 1e-12);
    crew.people = 2;
    EXPECT_DOUBLE_EQ(walk_s(crew, {0, 0, 1.2}, {12, 0, 1.2}), 6.0 * crew.detour / crew.walk_mps);
}

TEST(Crew, LearnsTheSpeedsOfThePeopleItWalksWith) {
    Crew crew;
    std::vector<StepTime> steps;
    for (int step = 0; step < 30; ++step) {
        StepTime time{step % 3 == 0 ? 40.0 + step : 0.0, step % 3 == 0 ? 12.0 * (1 + step / 3 % 4) : 0.0, 7.0, 0.0};
        time.actual_s = 1.5 * time.walk_s + 0.8 * time.place_s + 2.0 * time.take_s;
        steps.push_back(time);
    }
    const Crew learnt = adapted(crew, steps);
    EXPECT_NEAR(crew.walk_mps / learnt.walk_mps, 1.5, 0.1);
    EXPECT_NEAR(learnt.place_s / crew.place_s, 0.8, 0.1);
    EXPECT_NEAR(learnt.take_s / crew.take_s, 2.0, 0.1);
    EXPECT_EQ(adapted(crew, std::vector<StepTime>(2, {1, 1, 1, 100})).walk_mps, crew.walk_mps);
    EXPECT_LE(adapted(crew, std::vector<StepTime>(5, {1, 1, 1, 1e6})).take_s, 3.01 * crew.take_s);
    EXPECT_EQ(adapted(crew, std::vector<StepTime>(5, {0, 0, 0, 5})).take_s, crew.take_s);
}

}  // namespace
}  // namespace proofwalk::walk::route
