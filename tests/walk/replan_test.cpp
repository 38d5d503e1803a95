// Replanning: a take fails, a circuit is not ready, an area is closed, a mic dies, time is cut, a box is corrected. Each time the path
// adapts and says what changed.
#include <algorithm>
#include <set>

#include <gtest/gtest.h>

#include "plan/read.hpp"
#include "walk/overlapped_take.hpp"
#include "walk/route/agenda.hpp"

namespace proofwalk::walk::route {
namespace {

const plan::Plan& demo() {
    static const plan::Plan plan = [] {
        auto file = plan::load(std::string(PROOFWALK_SOURCE_DIR) + "/fixtures/demo/plan.toml");
        if (!file) throw std::runtime_error(sentence(file.error().front()));
        return file->plan;
    }();
    return plan;
}

constexpr double quick = 0.3;

bool says(const std::vector<std::string>& lines, const std::string& word) {
    return std::ranges::any_of(lines, [&](const std::string& line) { return line.find(word) != std::string::npos; });
}

// Everything that the first `legs` of an agenda take.
std::vector<Pair> pairs_of(const Agenda& agenda, std::size_t legs) {
    std::vector<Pair> pairs;
    for (std::size_t leg = 0; leg < std::min(legs, agenda.legs.size()); ++leg)
        for (const std::string& circuit : agenda.legs[leg].circuits)
            for (const std::string& position : agenda.legs[leg].positions) pairs.push_back({circuit, position});
    return pairs;
}

bool settles_all(const Agenda& agenda, const std::vector<Pair>& before) {
    std::vector<Pair> taken = pairs_of(agenda, agenda.legs.size());
    taken.insert(taken.end(), before.begin(), before.end());
    return std::ranges::all_of(needs_of(demo()), [&](const CheckNeeds& needs) {
        return std::ranges::all_of(needs.pairs, [&](const Pair& pair) {
            return std::ranges::any_of(taken, [&](const Pair& have) { return have.circuit == pair.circuit && (pair.position.empty() || have.position == pair.position); });
        });
    });
}

TEST(Replan, AFailedTakeIsTakenAgainWhereTheMicsStand) {
    const Agenda whole = agenda(demo(), {}, quick);
    Situation now;
    now.taken = pairs_of(whole, 1);
    now.mics_at = whole.legs.front().positions;
    const Agenda without_fault = agenda(demo(), now, quick);
    // The take of one circuit of the leg was clipped.
    const auto needed_there = [&](const std::string& circuit) {
        return std::ranges::any_of(needs_of(demo()), [&](const CheckNeeds& needs) {
            return std::ranges::any_of(needs.pairs, [&](const Pair& pair) { return pair.circuit == circuit && std::ranges::find(now.mics_at, pair.position) != now.mics_at.end(); });
        });
    };
    const std::string lost = *std::ranges::find_if(whole.legs.front().circuits, needed_there);
    std::erase_if(now.taken, [&](const Pair& pair) { return pair.circuit == lost; });
    const Agenda again = agenda(demo(), now, quick);
    EXPECT_TRUE(settles_all(again, now.taken));
    ASSERT_FALSE(again.legs.empty());
    EXPECT_TRUE(again.legs.front().carries.empty());
    EXPECT_EQ(again.legs.front().circuits, std::vector<std::string>{lost});
    EXPECT_FALSE(differences(without_fault, again).empty());
}

TEST(Replan, ACircuitThatIsNotReadyIsLeftOutAndNamed) {
    Situation now;
    const Agenda before = agenda(demo(), now, quick);
    now.not_ready = {"CA"};
    const Agenda after = agenda(demo(), now, quick);
    for (const Leg& leg : after.legs) EXPECT_EQ(std::ranges::find(leg.circuits, "CA"), leg.circuits.end());
    EXPECT_TRUE(says(differences(before, after), "polarity of CA stays unproven now: CA is not ready"));
    // Ready again: what was left out comes back.
    EXPECT_TRUE(says(differences(after, before), "polarity of CA is proven on the way now"));
}

TEST(Replan, AClosedAreaIsWalkedAround) {
    Situation now;
    const Agenda before = agenda(demo(), now, quick);
    now.closed = {before.legs.back().positions.front()};
    const Agenda after = agenda(demo(), now, quick);
    for (const Leg& leg : after.legs) EXPECT_EQ(std::ranges::find(leg.positions, now.closed.front()), leg.positions.end());
    EXPECT_TRUE(says(differences(before, after), "no mic any more at " + now.closed.front()));
    EXPECT_TRUE(says(differences(before, after), now.closed.front() + " is closed"));
}

TEST(Replan, ADeadMicMeansMoreRounds) {
    Situation now;
    const Agenda before = agenda(demo(), now, quick);
    now.crew.mics = 3;
    const Agenda after = agenda(demo(), now, quick);
    for (const Leg& leg : after.legs) EXPECT_LE(leg.positions.size(), 3u);
    EXPECT_TRUE(settles_all(after, {}));
    EXPECT_GT(after.legs.size(), before.legs.size());
    EXPECT_TRUE(says(differences(before, after), "longer than before"));
}

TEST(Replan, ADeadMicInTheMiddleOfTheWalkLeavesTheOthersWhereTheyStand) {
    const Agenda whole = agenda(demo(), {}, quick);
    Situation now;
    now.taken = pairs_of(whole, 2);
    now.mics_at = whole.legs[1].positions;
    now.crew.mics = 3;
    const Agenda after = agenda(demo(), now, quick);
    EXPECT_TRUE(settles_all(after, now.taken));
    for (const Leg& leg : after.legs) EXPECT_LE(leg.positions.size(), 3u);
}

TEST(Replan, LessTimeKeepsWhatMattersMost) {
    Situation now;
    const Agenda before = agenda(demo(), now, quick);
    now.minutes = 6.0;
    const Agenda after = agenda(demo(), now, quick);
    EXPECT_LE(after.seconds, 360.0 + 1e-6);
    EXPECT_FALSE(after.unproven.empty());
    EXPECT_TRUE(says(differences(before, after), "no time"));
    EXPECT_NE(risk_in_words(after).find("stay unproven"), std::string::npos);
}

TEST(Replan, RetakesOfACorrectedBoxRideAlongWhereTheyCostLeast) {
    const Agenda whole = agenda(demo(), {}, quick);
    Situation now;
    now.taken = pairs_of(whole, 2);
    now.mics_at = whole.legs[1].positions;
    const Agenda rest = agenda(demo(), now, quick);
    // A box of the first leg was corrected: all its takes retire.
    const std::string corrected = whole.legs.front().circuits.back();
    std::erase_if(now.taken, [&](const Pair& pair) { return pair.circuit == corrected; });
    const Agenda merged = agenda(demo(), now, quick);
    EXPECT_TRUE(settles_all(merged, now.taken));
    // Against a walk of its own for the retakes, after the rest and from where that ends.
    Situation alone = now;
    for (const Pair& pair : pairs_of(rest, rest.legs.size()))
        if (pair.circuit != corrected) alone.taken.push_back(pair);
    alone.mics_at = rest.legs.back().positions;
    EXPECT_LT(merged.seconds, rest.seconds + agenda(demo(), alone, quick).seconds);
}

TEST(Replan, FewerThanTwelvePlacesAreProvenShortest) {
    for (const std::size_t kept : {3u, 8u, 12u}) {
        plan::Plan small = demo();
        small.positions.resize(kept);
        for (const int mics : {1, 2, 4}) {
            Situation situation;
            situation.crew.mics = mics;
            EXPECT_TRUE(agenda(small, situation).shortest) << kept << " positions, " << mics << " mics";
        }
    }
}

// The signal time of the whole demo rig: one after another, and overlapped as a device would play it.
TEST(Overlap, TheDemoRigIsSettledInTwoAndAHalfMinutesOfSignal) {
    Situation situation;
    situation.crew.overlap = true;
    const Agenda walk = agenda(demo(), situation);
    ASSERT_TRUE(walk.unproven.empty());
    double one_after_another_s = 0.0, overlapped_s = 0.0;
    for (const Leg& leg : walk.legs) {
        one_after_another_s += static_cast<double>(leg.circuits.size()) * Crew{}.take_s;
        overlapped_s += static_cast<double>(leg.circuits.size()) * Crew{}.take_s;
        for (const auto& set : leg.together) {
            std::vector<CircuitOutput> outputs;
            for (const std::string& circuit : set) outputs.push_back({circuit, demo().boxes_of(circuit).front()->output.value()});
            const auto played = overlap_of(demo(), outputs, Drive{});
            ASSERT_TRUE(played) << sentence(played.error());
            EXPECT_TRUE(played->left_out.empty());
            overlapped_s += played->seconds - static_cast<double>(set.size()) * Crew{}.take_s;
            // What the agenda reckons with is what is played.
            const double reckoned_s = Crew{}.take_s + static_cast<double>(set.size() - 1) * Crew{}.overlap_gap_s;
            EXPECT_NEAR(reckoned_s, played->seconds, 2.5);
        }
    }
    RecordProperty("one_after_another_s", std::to_string(one_after_another_s));
    RecordProperty("overlapped_s", std::to_string(overlapped_s));
    EXPECT_LE(one_after_another_s, 360.0);
    EXPECT_LE(overlapped_s, 150.0);
}

}  // namespace
}  // namespace proofwalk::walk::route
