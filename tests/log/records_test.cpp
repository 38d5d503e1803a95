// What is stored comes back, in order, to the bit.
#include <gtest/gtest.h>

#include "sample.hpp"

namespace proofwalk::log {
namespace {

using namespace sample;

TEST(Plans, SameBytesAreNoNewRevision) {
    const Folder folder;
    Log log = opened(folder / "show.db");
    EXPECT_EQ(log.newest_plan().value(), std::nullopt);
    EXPECT_EQ(log.add_plan(plan()).value(), 1);
    EXPECT_EQ(log.add_plan(plan()).value(), 1);
    EXPECT_EQ(log.add_plan(plan("name = \"moved\"")).value(), 2);
    EXPECT_EQ(log.add_plan(plan()).value(), 3) << "going back to an earlier plan is a revision too";
    const auto plans = log.plans().value();
    ASSERT_EQ(plans.size(), 3u);
    EXPECT_EQ(plans[0].bytes, plan().bytes);
    EXPECT_EQ(plans[0].sha256, plan().sha256);
    EXPECT_EQ(plans[0].folder, "/shows/invented");
    EXPECT_EQ(plans[0].origin.who, "Ada Example");
    EXPECT_EQ(plans[0].origin.when, origin().when);
    EXPECT_EQ(log.newest_plan().value()->revision, 3);
}

TEST(Takes, ComeBackToTheBit) {
    const Folder folder;
    const TakeRecord stored = take("t01", 7, 3);
    {
        Log log = opened(folder / "show.db");
        ASSERT_EQ(log.add_plan(plan()).value(), 1);
        ASSERT_FALSE(log.add_take(stored, {}).value().already_there);
    }
    const Log log = opened(folder / "show.db", Mode::read);
    const auto takes = log.takes().value();
    ASSERT_EQ(takes.size(), 1u);
    const TakeRecord& got = takes.front();
    EXPECT_EQ(got.sha256, stored.sha256);
    EXPECT_EQ(got.label, "t01");
    EXPECT_EQ(got.kind, signal::TakeKind::sweep);
    EXPECT_EQ(got.sounding, stored.sounding);
    EXPECT_EQ(got.air, stored.air);
    EXPECT_EQ(got.seconds, 8.0);
    EXPECT_EQ(got.plan_revision, 1);
    EXPECT_EQ(got.raw_file, "");
    EXPECT_EQ(got.origin.machine, "laptop-1");
    EXPECT_EQ(got.origin.device, "recorded");
    ASSERT_EQ(got.silence.size(), 1u);
    expect_same(got.silence[0].level_dbfs, stored.silence[0].level_dbfs);
    EXPECT_EQ(got.calibrations, stored.calibrations);
    ASSERT_EQ(got.evidence.size(), 3u);
    for (std::size_t mic = 0; mic < 3; ++mic) {
        EXPECT_EQ(got.evidence[mic].circuit, "M1");
        EXPECT_EQ(got.evidence[mic].mic, stored.evidence[mic].mic);
        EXPECT_EQ(got.evidence[mic].position, stored.evidence[mic].position);
        EXPECT_EQ(got.evidence[mic].evidence.impulse, stored.evidence[mic].evidence.impulse);
        expect_same(got.evidence[mic].reading, stored.evidence[mic].reading);
    }
    const auto bare = log.takes(false).value();
    EXPECT_TRUE(bare[0].evidence[2].evidence.impulse.empty());
    expect_same(bare[0].evidence[2].reading, stored.evidence[2].reading);
    const auto one = log.take(got.number).value();
    ASSERT_TRUE(one.has_value());
    EXPECT_EQ(one->evidence[1].evidence.impulse, stored.evidence[1].evidence.impulse);
    EXPECT_FALSE(log.take(got.number + 1).value().has_value());
}

TEST(Takes, AnEmptyReadingComesBackEmpty) {
    const Folder folder;
    Log log = opened(folder / "show.db");
    TakeRecord stored = take("t01", 1, 1);
    stored.evidence[0].reading = {};
    ASSERT_TRUE(log.add_take(stored, {}).has_value());
    expect_same(log.takes(false).value()[0].evidence[0].reading, signal::Reading{});
}

TEST(Takes, SameRecordingTwiceChangesNothing) {
    const Folder folder;
    Log log = opened(folder / "show.db");
    const auto first = log.add_take(take("t01"), recording(2, 100)).value();
    const auto second = log.add_take(take("t02"), {}).value();
    auto again = take("another label");
    again.sha256 = take("t01").sha256;
    const auto third = log.add_take(again, recording(2, 100)).value();
    EXPECT_LT(first.number, second.number);
    EXPECT_EQ(third.number, first.number);
    EXPECT_TRUE(third.already_there);
    EXPECT_EQ(log.takes().value().size(), 2u);
}

TEST(Judgements, TheNewestComesBackThroughAllDifferences) {
    const Folder folder;
    Log log = opened(folder / "show.db");
    EXPECT_EQ(log.newest_judgement().value().has_value(), false);
    // More than twice the number of differences between two whole judgements.
    for (int step = 0; step < 150; ++step) {
        const verify::Judgement wanted = judgement(6, step % 6, step);
        ASSERT_TRUE(log.add_judgement(wanted, log.newest_basis().value(), origin()).has_value());
        if (step % 10 == 9 || step > 145) expect_same(log.newest_judgement().value()->judgement, wanted);
    }
}

TEST(Judgements, ChecksMayComeAndGoWithThePlan) {
    const Folder folder;
    Log log = opened(folder / "show.db");
    for (const int boxes : {4, 2, 7, 0, 3}) {
        const verify::Judgement wanted = judgement(boxes, 1, boxes);
        ASSERT_TRUE(log.add_judgement(wanted, {}, origin()).has_value());
        expect_same(log.newest_judgement().value()->judgement, wanted);
    }
}

TEST(Judgements, AreUpToDateUntilEvidenceComes) {
    const Folder folder;
    Log log = opened(folder / "show.db");
    ASSERT_TRUE(log.add_plan(plan()).has_value());
    ASSERT_TRUE(log.add_take(take("t01"), {}).has_value());
    ASSERT_TRUE(log.add_change({"M1", "tilted up 4 degrees", origin()}).has_value());
    ASSERT_TRUE(log.add_hand_reading({plan::CheckKind::aim_v, "M1", -0.3, 0.1, "Ada Example"}, origin()).has_value());
    ASSERT_TRUE(log.add_gear({"loopback", "interface", "pass", "flat within 0.1 dB", origin()}).has_value());
    const Basis basis = log.newest_basis().value();
    EXPECT_EQ(basis.plan_revision, 1);
    EXPECT_GT(basis.last_take, 0);
    EXPECT_GT(basis.last_change, basis.last_take);
    EXPECT_GT(basis.last_hand_reading, basis.last_change);
    EXPECT_GT(basis.last_gear, basis.last_hand_reading);
    ASSERT_TRUE(log.add_judgement(judgement(2, 0, 0), basis, origin("Ben Example")).has_value());
    const auto stored = log.newest_judgement().value();
    EXPECT_EQ(stored->basis, log.newest_basis().value());
    EXPECT_EQ(stored->origin.who, "Ben Example");
    ASSERT_TRUE(log.add_skip({"aim-v", "M2", "no access", origin()}).has_value());
    EXPECT_EQ(stored->basis, log.newest_basis().value()) << "a skip is no evidence";
    ASSERT_TRUE(log.add_take(take("t02"), {}).has_value());
    EXPECT_NE(stored->basis, log.newest_basis().value());
}

TEST(Decisions, ComeBackWithTheTakeBeforeThem) {
    const Folder folder;
    Log log = opened(folder / "show.db");
    ASSERT_TRUE(log.add_skip({"aim-v", "M1", "balcony locked", origin()}).has_value());
    const auto first = log.add_take(take("t01"), {}).value().number;
    ASSERT_TRUE(log.add_change({"M1", "re-tilted", origin("Ben Example")}).has_value());
    const auto second = log.add_take(take("t02"), {}).value().number;
    SkipRecord taken_up{"aim-v", "M1", "balcony open again", origin()};
    taken_up.taken_up = true;
    ASSERT_TRUE(log.add_skip(taken_up).has_value());
    const auto skips = log.skips().value();
    ASSERT_EQ(skips.size(), 2u);
    EXPECT_EQ(skips[0].after_take, 0);
    EXPECT_EQ(skips[0].why, "balcony locked");
    EXPECT_FALSE(skips[0].taken_up);
    EXPECT_EQ(skips[1].after_take, second);
    EXPECT_TRUE(skips[1].taken_up);
    const auto changes = log.changes().value();
    ASSERT_EQ(changes.size(), 1u);
    EXPECT_EQ(changes[0].after_take, first);
    EXPECT_EQ(changes[0].what, "re-tilted");
    EXPECT_EQ(changes[0].origin.who, "Ben Example");
}

TEST(Decisions, ASignOffCarriesItsHash) {
    const Folder folder;
    Log log = opened(folder / "show.db");
    ASSERT_TRUE(log.add_plan(plan()).has_value());
    const auto number = log.add_take(take("t01"), {}).value().number;
    SignOff sign_off{"system engineer", origin(), {{"aim-v", "M1"}, {"level", "M2"}}, 1, number, "digest", ""};
    const SignOff given = log.add_sign_off(sign_off).value();
    EXPECT_EQ(given.hash.size(), 64u);
    const auto list = log.sign_offs().value();
    ASSERT_EQ(list.size(), 1u);
    EXPECT_EQ(list[0].hash, given.hash);
    EXPECT_EQ(list[0].role, "system engineer");
    EXPECT_EQ(list[0].plan_revision, 1);
    EXPECT_EQ(list[0].last_take, number);
    EXPECT_EQ(list[0].tally_digest, "digest");
    ASSERT_EQ(list[0].exceptions.size(), 2u);
    EXPECT_EQ(list[0].exceptions[1].subject, "M2");
}

TEST(Decisions, HandReadingsAndGearComeBack) {
    const Folder folder;
    Log log = opened(folder / "show.db");
    ASSERT_TRUE(log.add_hand_reading({plan::CheckKind::spacing, "M1+M2", 0.05, 0.01, "Ben Example"}, origin()).has_value());
    ASSERT_TRUE(log.add_gear({"match", "m2", "fail", "2.1 dB below m1", origin()}).has_value());
    const auto hand = log.hand_readings().value();
    ASSERT_EQ(hand.size(), 1u);
    EXPECT_EQ(hand[0].kind, plan::CheckKind::spacing);
    EXPECT_EQ(hand[0].value, 0.05);
    EXPECT_EQ(hand[0].who, "Ben Example");
    const auto gear = log.gear().value();
    ASSERT_EQ(gear.size(), 1u);
    EXPECT_EQ(gear[0].says, "2.1 dB below m1");
}

TEST(Notes, AttachmentsAreKeptByHash) {
    const Folder folder;
    Log log = opened(folder / "show.db");
    std::ofstream(folder / "left side.JPG", std::ios::binary) << "picture";
    const auto stored = log.attach({0, "box M1", "", "bolt replaced", "", 0, "", origin()}, folder / "left side.JPG").value();
    EXPECT_EQ(stored.stored_as, sha256("picture") + ".JPG");
    EXPECT_EQ(stored.bytes, 7);
    EXPECT_TRUE(std::filesystem::exists(log.takes_folder() / stored.stored_as));
    const auto list = log.attachments().value();
    ASSERT_EQ(list.size(), 1u);
    EXPECT_EQ(list[0].number, stored.number);
    EXPECT_EQ(list[0].name, "left side.JPG");
    EXPECT_EQ(list[0].subject, "box M1");
    EXPECT_EQ(list[0].note, "bolt replaced");
    EXPECT_EQ(log.attach({}, folder / "missing.jpg").error().kind, FaultKind::input);
}

TEST(Notes, IncidentsCarryTheirOwnTime) {
    const Folder folder;
    Log log = opened(folder / "show.db");
    ASSERT_TRUE(log.add_note({0, "box M2", "cut out for a second", true, {1'777'740'000, 120}, origin()}).has_value());
    const auto list = log.notes().value();
    ASSERT_EQ(list.size(), 1u);
    EXPECT_TRUE(list[0].incident);
    EXPECT_EQ(list[0].happened, (Moment{1'777'740'000, 120}));
    EXPECT_EQ(list[0].text, "cut out for a second");
}

TEST(History, ACheckShowsOnlyWhatChanged) {
    const Folder folder;
    Log log = opened(folder / "show.db");
    for (const int step : {0, 0, 1, 1, 2})
        ASSERT_TRUE(log.add_judgement(judgement(3, 1, step), {}, origin()).has_value());
    const auto past = log.history("level", "M2").value();
    ASSERT_EQ(past.size(), 3u);
    EXPECT_EQ(past[0].value, 0.1);
    EXPECT_EQ(past[2].value, 0.1 + 0.02);
    EXPECT_EQ(past[2].uncertainty, 0.5);
    EXPECT_EQ(log.history("level", "M3").value().size(), 1u) << "open all the time";
    EXPECT_TRUE(log.history("level", "M9").value().empty());
}

TEST(Takes, WhatLaterTakesAreMeasuredByIsFoundAlone) {
    const Folder folder;
    Log log = opened(folder / "show.db");
    TakeRecord quiet = take("quiet", 1, 1), warm = take("warm", 2, 1), plain = take("plain", 3, 1);
    quiet.kind = signal::TakeKind::silence;
    quiet.evidence.clear();
    quiet.air.reset();
    quiet.silence = {{"m1", "p1", {}}};
    warm.air = acoustics::Air{24.5, 40.0, 101.0};
    plain.air.reset();
    for (const TakeRecord& record : {quiet, warm, plain}) ASSERT_TRUE(log.add_take(record, {}).has_value());
    const auto found = log.takes_to_measure_by().value();
    ASSERT_EQ(found.size(), 2u);
    EXPECT_EQ(found[0].label, "quiet");
    EXPECT_EQ(found[0].silence.size(), 1u);
    EXPECT_EQ(found[1].air->temperature_c, 24.5);
    EXPECT_EQ(log.take_of_recording(plain.sha256).value()->label, "plain");
    EXPECT_FALSE(log.take_of_recording("unheard of").value().has_value());
}

TEST(Takes, WhetherSomethingWasHeardSinceIsToldWithoutReadingTakes) {
    const Folder folder;
    Log log = opened(folder / "show.db");
    const auto first = log.add_take(take("t01", 1, 1), {}).value().number;
    const EvidenceRecord heard = take("t01", 1, 1).evidence[0];
    EXPECT_TRUE(log.heard_after(0, {heard.circuit}, {heard.position}).value());
    EXPECT_TRUE(log.heard_after(0, {"X", heard.circuit}, {}).value());
    EXPECT_FALSE(log.heard_after(first, {heard.circuit}, {}).value());
    EXPECT_FALSE(log.heard_after(0, {heard.circuit}, {"elsewhere"}).value());
    EXPECT_FALSE(log.heard_after(0, {}, {}).value());
}

TEST(Takes, ARecordingStoredAheadBelongsToItsTakeOrGoes) {
    const Folder folder;
    Log log = opened(folder / "show.db");
    const auto channels = recording(3, 500);
    const TakeRecord kept = take("t01", 1, 1), given_up = take("t02", 2, 1);
    ASSERT_TRUE(log.add_take(kept, log.store_ahead(kept.sha256, 48000.0, channels)).has_value());
    EXPECT_EQ(log.raw_channels(log.takes().value()[0].number).value(), channels);
    { (void)log.store_ahead(given_up.sha256, 48000.0, channels); }
    const auto count = std::distance(std::filesystem::directory_iterator(log.takes_folder()), std::filesystem::directory_iterator{});
    EXPECT_EQ(count, 1) << "the recording of the take that never came is gone";
    // Taken in once more: the files that a take has stay.
    ASSERT_TRUE(log.add_take(kept, log.store_ahead(kept.sha256, 48000.0, channels)).value().already_there);
    EXPECT_EQ(log.raw_channels(log.takes().value()[0].number).value(), channels);
}

}  // namespace
}  // namespace proofwalk::log
