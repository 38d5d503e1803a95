#include <algorithm>
#include <set>

#include <gtest/gtest.h>

#include "plan/read.hpp"
#include "walk/generated_rig.hpp"
#include "walk/route/agenda.hpp"
#include "walk/route/doors.hpp"
#include "walk/simulated_shows.hpp"

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

std::set<Pair> taken_by(const Agenda& agenda) {
    std::set<Pair> taken;
    for (const Leg& leg : agenda.legs)
        for (const std::string& circuit : leg.circuits)
            for (const std::string& position : leg.positions) taken.insert({circuit, position});
    return taken;
}

bool covers(const std::set<Pair>& taken, const CheckNeeds& needs) {
    return std::ranges::all_of(needs.pairs, [&](const Pair& pair) {
        return std::ranges::any_of(taken, [&](const Pair& have) { return have.circuit == pair.circuit && (pair.position.empty() || have.position == pair.position); });
    });
}

TEST(Coverage, PairsAreWhatTheContractAsksFor) {
    for (const CheckNeeds& needs : needs_of(demo())) {
        EXPECT_FALSE(needs.pairs.empty()) << needs.check.subject;
        switch (needs.check.kind) {
            case plan::CheckKind::splay: EXPECT_EQ(needs.pairs.size(), 4u); break;  // two axes, one crossover twice
            case plan::CheckKind::alignment: EXPECT_EQ(needs.pairs.size(), 2u); break;
            case plan::CheckKind::sounding: EXPECT_EQ(needs.pairs.size(), 1u); break;
            case plan::CheckKind::aim_h: EXPECT_GE(needs.pairs.size(), 2u); break;
            default: break;
        }
    }
}

TEST(Agenda, SettlesEveryCheckOfTheDemoRigWithinTheSignalTimeAllowed) {
    const Agenda walk = agenda(demo(), {});
    EXPECT_TRUE(walk.unproven.empty());
    const std::set<Pair> taken = taken_by(walk);
    std::size_t settled = 0;
    for (const Leg& leg : walk.legs) settled += leg.settles.size();
    const auto all = needs_of(demo());
    EXPECT_EQ(settled, all.size());
    for (const CheckNeeds& needs : all) EXPECT_TRUE(covers(taken, needs)) << plan::word(needs.check.kind) << " " << needs.check.subject;
    // One after another at most 6 minutes of signal, overlapped at most 2.5.
    EXPECT_LE(static_cast<double>(walk.takes()) * Crew{}.take_s, 360.0);
    double overlapped_s = 0.0;
    for (const Leg& leg : walk.legs) overlapped_s += doors_signal({leg.circuits}, 0.5).seconds;
    EXPECT_LE(overlapped_s, 150.0);
}

TEST(Agenda, EverythingSoundsFirst) {
    for (const std::optional<double> minutes : {std::optional<double>(), std::optional<double>(8.0)}) {
        Situation situation;
        situation.minutes = minutes;
        const Agenda walk = agenda(demo(), situation);
        ASSERT_FALSE(walk.legs.empty());
        EXPECT_EQ(walk.legs.front().circuits.size(), demo().circuits().size());
        for (const Unproven& open : walk.unproven) EXPECT_NE(open.check.kind, plan::CheckKind::sounding);
    }
}

TEST(Agenda, KeepsToTheMinutesAndLosesRiskWithEachOne) {
    double before = 1.0;
    for (const double minutes : {1.0, 3.0, 5.0, 8.0, 12.0, 20.0}) {
        Situation situation;
        situation.minutes = minutes;
        const Agenda walk = agenda(demo(), situation, 0.3);
        EXPECT_LE(walk.seconds, 60.0 * minutes + 1e-6);
        const double left = walk.risk_left / walk.risk_before;
        EXPECT_LE(left, before + 1e-9) << minutes;
        before = left;
        for (std::size_t index = 1; index < walk.unproven.size(); ++index) EXPECT_GE(walk.unproven[index - 1].stake.risk * (1.0 - walk.unproven[index - 1].seen), walk.unproven[index].stake.risk * (1.0 - walk.unproven[index].seen));
    }
    EXPECT_EQ(before, 0.0);
}

TEST(Agenda, ReplansAroundWhatCanNotBeDone) {
    Situation situation;
    const Agenda whole = agenda(demo(), situation, 0.3);
    situation.closed = {"p14"};
    situation.not_ready = {"FF2"};
    situation.crew.mics = 3;
    const Agenda less = agenda(demo(), situation, 0.3);
    for (const Leg& leg : less.legs) {
        EXPECT_EQ(std::ranges::find(leg.positions, "p14"), leg.positions.end());
        EXPECT_EQ(std::ranges::find(leg.circuits, "FF2"), leg.circuits.end());
        EXPECT_LE(leg.positions.size(), 3u);
    }
    const auto why = [&](plan::CheckKind kind, const std::string& subject) {
        const auto found = std::ranges::find(less.unproven, CheckId{kind, subject}, &Unproven::check);
        return found == less.unproven.end() ? std::string() : found->why;
    };
    EXPECT_EQ(why(plan::CheckKind::polarity, "D1"), "p14 is closed");
    EXPECT_EQ(why(plan::CheckKind::sounding, "FF2"), "FF2 is not ready");
    EXPECT_EQ(why(plan::CheckKind::polarity, "ML"), "");
    EXPECT_FALSE(differences(whole, less).empty());
    EXPECT_TRUE(differences(whole, whole).empty());
}

TEST(Agenda, TakesWhatIsLeftFromWhereTheMicsStand) {
    Situation situation;
    const Agenda whole = agenda(demo(), situation, 0.3);
    const Leg& first = whole.legs.front();
    // One circuit of the first leg failed: everything else there is taken.
    for (std::size_t index = 1; index < first.circuits.size(); ++index)
        for (const std::string& position : first.positions) situation.taken.push_back({first.circuits[index], position});
    situation.mics_at = first.positions;
    const Agenda rest = agenda(demo(), situation, 0.3);
    EXPECT_LT(rest.takes(), whole.takes());
    std::set<Pair> taken = taken_by(rest);
    taken.insert(situation.taken.begin(), situation.taken.end());
    for (const CheckNeeds& needs : needs_of(demo())) EXPECT_TRUE(covers(taken, needs)) << needs.check.subject;
    for (const auto& carry : rest.legs.front().carries) EXPECT_NE(carry.first, "start");
}

TEST(Agenda, ADoneShowLeavesNothing) {
    Situation situation;
    for (const CheckNeeds& needs : needs_of(demo())) situation.settled.push_back({needs.check.kind, needs.check.subject});
    const Agenda walk = agenda(demo(), situation);
    EXPECT_TRUE(walk.legs.empty());
    EXPECT_TRUE(walk.unproven.empty());
    EXPECT_EQ(risk_in_words(walk), "nothing stays unproven");
}

TEST(Agenda, TooLittleTimeToAskWhatSoundsIsNoMishap) {
    Situation situation;
    for (const CheckNeeds& needs : needs_of(demo()))
        if (needs.check.kind != plan::CheckKind::sounding) situation.settled.push_back({needs.check.kind, needs.check.subject});
    EXPECT_TRUE(agenda(demo(), situation).unproven.empty());
    for (const double minutes : {0.01, 0.7}) {
        situation.minutes = minutes;
        const Agenda walk = agenda(demo(), situation);
        EXPECT_FALSE(walk.unproven.empty());
        EXPECT_LE(walk.seconds, 60.0 * minutes);
    }
}

TEST(Agenda, RetakesOfACorrectedBoxAreMergedIntoTheWalk) {
    Situation situation;
    situation.taken = {};
    for (const Pair& pair : taken_by(agenda(demo(), {}, 0.3))) situation.taken.push_back(pair);
    EXPECT_TRUE(agenda(demo(), situation, 0.3).legs.empty());
    std::erase_if(situation.taken, [](const Pair& pair) { return pair.circuit == "CB"; });
    situation.doubted = {{plan::CheckKind::aim_v, "CB"}};
    const Agenda retake = agenda(demo(), situation, 0.3);
    ASSERT_FALSE(retake.legs.empty());
    EXPECT_TRUE(retake.unproven.empty());
    // What failed before is likelier to fail again.
    situation.doubted.clear();
    EXPECT_GT(retake.risk_before, agenda(demo(), situation, 0.3).risk_before);
    for (const Leg& leg : retake.legs) EXPECT_EQ(leg.circuits, std::vector<std::string>{"CB"});
}

TEST(Agenda, BeatsTheWalkBoxByBox) {
    Situation situation;
    EXPECT_LT(agenda(demo(), situation).seconds, 0.8 * box_by_box(demo(), situation).seconds);
}

// Few shows here; `thousand_shows` plays a thousand (see docs/shortest_walk.md).
TEST(SimulatedShows, ThePlannedWalkFindsMoreThanBoxByBox) {
    Situation situation;
    situation.minutes = 9.0;
    const Found found = shows_on(generated_rig(3, 2, 4), situation, 12, 1);
    EXPECT_GE(found.all.fell, 10u);
    EXPECT_GE(found.all.found[planned_walk], found.all.found[walk_box_by_box]);
    EXPECT_GT(found.all.share(planned_walk), 0.7);
}

TEST(SimulatedShows, AHealthyRigHasNothingToFind) {
    Situation situation;
    situation.odds.fault.fill(0.0);
    EXPECT_EQ(shows_on(generated_rig(3, 2, 4), situation, 3, 1).all.fell, 0u);
}

TEST(Agenda, OverlappedTakesNeedLessTimeAndSettleTheSame) {
    Situation by_hand, overlapped;
    overlapped.crew.overlap = true;
    const Agenda one = agenda(demo(), by_hand, 0.3), other = agenda(demo(), overlapped, 0.3);
    EXPECT_LT(other.seconds, one.seconds);
    EXPECT_LT(other.takes(), one.takes());
    EXPECT_TRUE(other.unproven.empty());
    const std::set<Pair> taken = taken_by(other);
    for (const CheckNeeds& needs : needs_of(demo())) EXPECT_TRUE(covers(taken, needs)) << needs.check.subject;
    for (const Leg& leg : other.legs)
        for (const auto& set : leg.together) {
            EXPECT_GT(set.size(), 1u);
            std::set<int> outputs;
            for (const std::string& circuit : set) {
                EXPECT_NE(std::ranges::find(leg.circuits, circuit), leg.circuits.end());
                outputs.insert(demo().boxes_of(circuit).front()->output.value());
                EXPECT_EQ(demo().model_of(*demo().boxes_of(circuit).front()).range_hz, demo().model_of(*demo().boxes_of(set.front()).front()).range_hz);
            }
            EXPECT_EQ(outputs.size(), set.size());
        }
    // Without outputs in the plan nothing can sound together.
    plan::Plan by_cable = demo();
    for (plan::Box& box : by_cable.boxes) box.output.reset();
    EXPECT_EQ(agenda(by_cable, overlapped, 0.3).takes(), one.takes());
}

TEST(Agenda, PartOfTheEvidenceLeavesPartOfTheRisk) {
    Situation situation;
    situation.minutes = 5.0;
    const Agenda walk = agenda(demo(), situation);
    const bool partly = std::ranges::any_of(walk.unproven, [](const Unproven& open) { return open.seen > 0.0 && open.seen < 1.0; });
    EXPECT_TRUE(partly);
    double left = 0.0;
    for (const Unproven& open : walk.unproven) left += open.stake.risk * (1.0 - open.seen);
    EXPECT_NEAR(left, walk.risk_left, 1e-12);
    EXPECT_LT(left, walk.risk_before);
}

TEST(Stakes, SharesOfTheAudienceAddUp) {
    const auto shares = people_of(demo());
    double sum = 0.0;
    for (const double share : shares) {
        EXPECT_GT(share, 0.0);
        sum += share;
    }
    EXPECT_NEAR(sum, 1.0, 0.02);
    EXPECT_NEAR(shares[0], shares[1], 0.02);  // main left and right of a symmetrical hall
}

TEST(Stakes, OddsAreReadAndRefused) {
    Odds odds;
    ASSERT_TRUE(set_odds(odds, "aim-v=0.25"));
    ASSERT_TRUE(set_odds(odds, "corrected=0.5"));
    EXPECT_EQ(odds.after_correction, 0.5);
    EXPECT_EQ(odds.fault_of(plan::CheckKind::aim_v), 0.25);
    for (const char* text : {"aim-v", "aim-v=", "aim-v=2", "aim-v=nan", "aimv=0.1", "=1"}) EXPECT_FALSE(set_odds(odds, text)) << text;
    EXPECT_NE(sentence(set_odds(odds, "aimv=0.1").error()).find("aim-v"), std::string::npos);
}

TEST(Stakes, OddsFollowWhatEarlierWalksFound) {
    Outcomes outcomes;
    outcomes.judged[0] = 180;
    outcomes.failed[0] = 36;
    const Odds better = learnt(Odds{}, outcomes);
    EXPECT_NEAR(better.fault[0], (0.04 * 20 + 36) / 200.0, 1e-12);
    EXPECT_EQ(better.fault[1], Odds{}.fault[1]);
}

TEST(Doors, EveryCircuitOfALargeRigInAMinute) {
    std::vector<std::vector<std::string>> takes(2);
    for (int index = 0; index < 60; ++index) takes[index < 32 ? 0 : 1].push_back("C" + std::to_string(index));
    const DoorsSignal signal = doors_signal(takes, 0.5);
    EXPECT_LE(signal.seconds, most_doors_s);
    EXPECT_TRUE(signal.left_out.empty());
    ASSERT_EQ(signal.takes.size(), 2u);
    ASSERT_EQ(signal.takes[0].size() + signal.takes[1].size(), 60u);
    for (const auto& take : signal.takes)
        for (std::size_t index = 1; index < take.size(); ++index) EXPECT_NEAR(take[index].second - take[index - 1].second, signal.gap_s, 1e-9);
    takes = {std::vector<std::string>(12, "C")};
    EXPECT_GE(doors_signal(takes, 0.5).sweep_s, 2.0);
    takes.push_back(std::vector<std::string>(200, "more"));
    EXPECT_FALSE(doors_signal(takes, 0.5).left_out.empty());
}

TEST(Doors, TheDemoRigIsProvenAgainInAMinute) {
    const auto takes = sounding_together(demo());
    std::set<std::string> circuits;
    for (const auto& take : takes) circuits.insert(take.begin(), take.end());
    EXPECT_EQ(circuits.size(), demo().circuits().size());
    const DoorsSignal signal = doors_signal(takes, 0.5);
    EXPECT_TRUE(signal.left_out.empty());
    EXPECT_LE(signal.seconds, most_doors_s);
}

verify::TakenReading heard(double level_db, double arrival_ms, int polarity) {
    verify::TakenReading taken{"t", "M1", "m1", "p1", {}};
    taken.reading.aim_band_db = Measured{level_db, 0.1};
    taken.reading.arrival_s = Measured{arrival_ms / 1000.0, 2e-5};
    taken.reading.polarity = polarity;
    return taken;
}

TEST(Doors, SaysWhatHasChangedSinceTheSignOff) {
    const plan::Rules rules;
    EXPECT_TRUE(compared({heard(-30, 40, 1)}, {heard(-30.5, 40.1, 1)}, rules).changed.empty());
    const auto changed = compared({heard(-30, 40, 1)}, {heard(-36, 34, -1)}, rules).changed;
    ASSERT_EQ(changed.size(), 3u);
    EXPECT_NE(changed[0].says.find("polarity"), std::string::npos);
    EXPECT_NE(changed[1].says.find("6.0 dB quieter"), std::string::npos);
    EXPECT_NE(changed[2].says.find("6.0 ms earlier"), std::string::npos);
    auto silent = heard(-90, 0, 1);
    silent.reading.flags.raise(Flag::no_signal);
    EXPECT_NE(compared({heard(-30, 40, 1)}, {silent}, rules).changed.front().says.find("does not sound"), std::string::npos);
    // Positions that say the same stand together.
    auto there = heard(-36, 40, 1), signed_there = heard(-30, 40, 1);
    there.position = signed_there.position = "p2";
    const auto both = compared({heard(-30, 40, 1), signed_there}, {heard(-34, 40, 1), there}, rules).changed;
    ASSERT_EQ(both.size(), 1u);
    EXPECT_EQ(both[0].positions, (std::vector<std::string>{"p1", "p2"}));
    EXPECT_NE(both[0].says.find("5.0 dB quieter"), std::string::npos);
    // The newest reading of a pair counts.
    EXPECT_TRUE(compared({heard(-30, 40, 1)}, {silent, heard(-30, 40, 1)}, rules).changed.empty());
    EXPECT_EQ(compared({heard(-30, 40, 1)}, {}, rules).not_heard_again, std::vector<std::string>{"M1"});
}

}  // namespace
}  // namespace proofwalk::walk::route
