// The search's short way to the result of a walk against the walk played out leg by leg.
#include "walk/route/game.hpp"

#include <algorithm>
#include <random>

#include <gtest/gtest.h>

#include "walk/generated_rig.hpp"

namespace proofwalk::walk::route {
namespace {

Groups shuffled_groups(const Board& board, std::size_t mics, std::mt19937& random) {
    std::vector<std::size_t> places;
    for (std::size_t place = 0; place < board.places().size(); ++place)
        if (board.errand().circuits[place].any()) places.push_back(place);
    std::ranges::shuffle(places, random);
    Groups groups;
    for (const std::size_t place : places) {
        if (groups.empty() || groups.back().size() == mics) groups.emplace_back();
        groups.back().push_back(place);
    }
    std::ranges::shuffle(groups, random);
    return groups;
}

// Eight stands are carried by the quick form in both.
TEST(Game, TheResultIsThatOfTheWalkPlayedOut) {
    const plan::Plan rig = generated_rig(2, 3, 4);
    for (const bool overlap : {false, true})
        for (const double minutes : {4.0, 12.0, 60.0}) {
            Situation situation;
            situation.crew.mics = 8;
            situation.crew.overlap = overlap;
            situation.minutes = minutes;
            const Board board(rig, situation);
            Game game(board, 60.0 * minutes);
            std::mt19937 random(7);
            for (int trial = 0; trial < 20; ++trial) {
                const Groups groups = shuffled_groups(board, 8, random);
                const Game::Result result = game.result(groups);
                const Score score = game.play(groups);
                EXPECT_NEAR(result.risk_removed, score.risk_removed, 1e-12);
                double seconds = 0.0, removed = 0.0;
                for (const Played& leg : score.legs) seconds += leg.changeover.seconds + leg.place_s + leg.take_s;
                for (std::size_t check = 0; check < board.open().size(); ++check) removed += board.open()[check].stake.risk * score.seen[check];
                EXPECT_NEAR(score.seconds, seconds, 1e-6);
                EXPECT_NEAR(score.risk_removed, removed, 1e-12);
                EXPECT_LE(score.seconds, 60.0 * minutes + 1e-6);
                // The order of stands that are alike to each other may decide between two quick ways.
                EXPECT_NEAR(result.seconds, score.seconds, 0.05 * score.seconds);
            }
        }
}

TEST(Game, APlaceThatNothingNeedsCostsNothing) {
    Situation situation;
    for (const CheckNeeds& needs : needs_of(generated_rig(3, 2, 4))) situation.settled.push_back({needs.check.kind, needs.check.subject});
    const plan::Plan rig = generated_rig(3, 2, 4);
    const Board board(rig, situation);
    Game game(board, 600.0);
    EXPECT_EQ(game.result({{0, 1}, {2}}).seconds, 0.0);
    EXPECT_TRUE(game.play({{0, 1}, {2}}).legs.empty());
}

}  // namespace
}  // namespace proofwalk::walk::route
