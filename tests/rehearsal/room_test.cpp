#include <numbers>

#include "rehearsal/rehearsed.hpp"
#include "rehearsal/room_air.hpp"

namespace proofwalk::rehearsal {
namespace {

// Speed of sound that the room itself uses, so that these tests hold whatever the model of the air.
double speed(const plan::Plan& plan) { return RoomAir(plan.air).speed_mps(); }

TEST(Room, SoundArrivesAfterDistanceLatencyAndDelay) {
    plan::Plan plan = two_boxes();
    plan.boxes[1].delay_ms = 3.75;
    const auto recording = taken(plan, exact(), click({"B"}, {"pb"}));
    // The box's own filters are minimum phase and the crossover an all-pass: above 3 kHz they leave some microseconds.
    EXPECT_NEAR(delay_s(recording.channels[1], recording.channels[0], 48000.0), 10.0 / speed(plan) + 0.002 + 0.00375, 4e-5);
}

TEST(Room, PlantedDelayShiftsArrivalByExactlyThat) {
    const plan::Plan plan = two_boxes();
    const auto healthy = taken(plan, exact(), click({"A"}, {"pa"}));
    const auto late = taken(plan, with_fault(plan, "A:delay:1.234"), click({"A"}, {"pa"}));
    EXPECT_NEAR(delay_s(late.channels[1], healthy.channels[1], 48000.0), 0.001234, 2e-7);
}

TEST(Room, LevelAtOneMetreIsTheModels) {
    plan::Plan plan = two_boxes();
    plan.positions[0].at = {1.0, 3.0, 1.2};
    const auto recording = taken(plan, exact(), click({"A"}, {"pa"}));
    EXPECT_NEAR(level_db(recording.channels[1], recording.channels[0], 2000.0, 8000.0), -20.0, 0.1);
}

TEST(Room, LevelFallsBySixDecibelsWithDoubledDistanceAndTheAirTakesTheRest) {
    const plan::Plan plan = two_boxes();
    const auto recording = taken(plan, exact(), click({"A"}, {"pa", "p20"}));
    const double at_1k = level_db(recording.channels[2], recording.channels[1], 990.0, 1010.0);
    const double at_8k = level_db(recording.channels[2], recording.channels[1], 7900.0, 7990.0);
    // ISO 9613-1 at 20 C, 50 %: 4.66 dB/km at 1 kHz and 104 dB/km at 8 kHz (exact midbands), over 10 m more.
    EXPECT_NEAR(at_1k, -6.021 - 0.0466, 0.02);
    EXPECT_NEAR(at_8k, -6.021 - 1.039, 0.03);
}

TEST(Room, PlantedGainAndPolarityShow) {
    const plan::Plan plan = two_boxes();
    const auto healthy = taken(plan, exact(), click({"A"}, {"pa"}));
    const auto louder = taken(plan, with_fault(plan, "A:gain:-3.5"), click({"A"}, {"pa"}));
    const auto inverted = taken(plan, with_fault(plan, "A:polarity"), click({"A"}, {"pa"}));
    const std::size_t peak = peak_of(healthy.channels[1]);
    EXPECT_GT(healthy.channels[1][peak], 0.0F);
    EXPECT_NEAR(amplitude_db(louder.channels[1][peak] / healthy.channels[1][peak]), -3.5, 1e-3);
    EXPECT_NEAR(inverted.channels[1][peak], -healthy.channels[1][peak], 1e-7);
}

TEST(Room, CoverageEndsAtMinusSixDecibelsAndIsNoParabolaInBetween) {
    plan::Plan plan = two_boxes();
    const double edge = radians(45.0), half = radians(22.5);
    plan.positions[1].at = {10.0 * std::cos(edge), 3.0 + 10.0 * std::sin(edge), 1.2};
    plan.positions[2].at = {10.0 * std::cos(half), 3.0 + 10.0 * std::sin(half), 1.2};
    const auto recording = taken(plan, exact(), click({"A"}, {"pa", "pb", "px"}));
    EXPECT_NEAR(level_db(recording.channels[2], recording.channels[1], 2000.0, 8000.0), -6.0, 0.15);
    // Narrower with frequency: what a parabola of one width can't show.
    const double low = level_db(recording.channels[3], recording.channels[1], 500.0, 700.0);
    const double high = level_db(recording.channels[3], recording.channels[1], 8000.0, 12000.0);
    EXPECT_GT(low - high, 0.5);
}

TEST(Room, TurningTheBoxMovesItsPattern) {
    plan::Plan plan = two_boxes();
    const double edge = radians(45.0);
    plan.positions[1].at = {10.0 * std::cos(edge), 3.0 + 10.0 * std::sin(edge), 1.2};
    const auto left = taken(plan, with_fault(plan, "A:aim-h:10"), click({"A"}, {"pa", "pb"}));
    EXPECT_GT(level_db(left.channels[2], left.channels[1], 2000.0, 8000.0), -5.0);
    const auto right = taken(plan, with_fault(plan, "A:aim-h:-10"), click({"A"}, {"pa", "pb"}));
    EXPECT_LT(level_db(right.channels[2], right.channels[1], 2000.0, 8000.0), -7.0);
}

TEST(Room, CrossedCircuitsFeedEachOther) {
    const plan::Plan plan = two_boxes();
    const auto crossed = taken(plan, with_fault(plan, "A:swap:B"), click({"A"}, {"pa", "pb"}));
    // Circuit A plays, box B sounds: it is nearer to pb.
    EXPECT_LT(peak_of(crossed.channels[2]), peak_of(crossed.channels[1]));
    const auto straight = taken(plan, exact(), click({"B"}, {"pa", "pb"}));
    EXPECT_EQ(straight.channels[2], crossed.channels[2]);
}

TEST(Room, SilentBoxLeavesOnlyNoise) {
    const plan::Plan plan = two_boxes();
    Settings settings;
    settings.snr_db = 40.0;
    const auto dead = taken(plan, with_fault(plan, "A:silent", settings), click({"A"}, {"pa"}));
    const auto quiet = taken(plan, settings, [] {
        auto request = click({}, {"pa"});
        request.sheet.kind = signal::TakeKind::silence;
        return request;
    }());
    EXPECT_NEAR(rms_db(dead.channels[1], 0, 48000), rms_db(quiet.channels[1], 0, 48000), 0.5);
}

TEST(Room, DeadDriverTakesAwayItsBandOnly) {
    const plan::Plan plan = two_boxes();
    const auto healthy = taken(plan, exact(), click({"A"}, {"pa"}));
    const auto no_high = taken(plan, with_fault(plan, "A:dead-high"), click({"A"}, {"pa"}));
    const auto no_low = taken(plan, with_fault(plan, "A:dead-low"), click({"A"}, {"pa"}));
    EXPECT_LT(level_db(no_high.channels[1], healthy.channels[1], 4000.0, 8000.0), -25.0);
    EXPECT_NEAR(level_db(no_high.channels[1], healthy.channels[1], 150.0, 300.0), 0.0, 0.2);
    EXPECT_LT(level_db(no_low.channels[1], healthy.channels[1], 150.0, 300.0), -25.0);
    EXPECT_NEAR(level_db(no_low.channels[1], healthy.channels[1], 6000.0, 12000.0), 0.0, 0.2);
}

TEST(Room, NoiseStandsWhereTheSettingsSay) {
    const plan::Plan plan = two_boxes();
    Settings settings;
    settings.snr_db = 30.0;
    auto request = click({}, {"pa"});
    request.sheet.kind = signal::TakeKind::silence;
    request.seconds = 8.0;
    request.sheet.label = "quiet";
    const auto quiet = taken(plan, settings, request);
    // A sweep at -20 dBFS (rms 3 dB below) through a box of -20 dB at 1 m, 10 m away, 30 dB above the noise. Mics differ.
    EXPECT_NEAR(rms_db(quiet.channels[1], 0, quiet.channels[1].size()), -20.0 - 3.01 - 20.0 - 20.0 - 30.0, 1.0);
}

TEST(Room, ReflectionsAndReverberationFollowTheDirectSound) {
    const plan::Plan plan = two_boxes();
    Settings settings;
    settings.snr_db = 100.0;
    const auto dry = taken(plan, exact(), click({"A"}, {"pa"}));
    const auto wet = taken(plan, settings, click({"A"}, {"pa"}));
    const std::size_t arrival = peak_of(dry.channels[1]);
    EXPECT_NEAR(static_cast<double>(peak_of(wet.channels[1])), static_cast<double>(arrival), 20.0);
    // Decay between 0.2 and 0.5 s after the arrival: 60 dB in the reverberation time, within what three bands mix.
    const double early = rms_db(wet.channels[1], arrival + 9600, 2400), late = rms_db(wet.channels[1], arrival + 24000, 2400);
    EXPECT_NEAR((early - late) / 0.3, 60.0 / settings.decay_s, 12.0);
}

TEST(Room, SameSeedSameSamplesOtherSeedOthers) {
    const plan::Plan plan = two_boxes();
    Settings settings;
    const auto request = click({"A"}, {"pa", "px"});
    const auto first = taken(plan, settings, request), again = taken(plan, settings, request);
    EXPECT_EQ(first.channels, again.channels);
    EXPECT_EQ(first.sha256, again.sha256);
    settings.seed = 2;
    EXPECT_NE(taken(plan, settings, request).sha256, first.sha256);
}

TEST(Room, OrderOfTakesChangesNothing) {
    const plan::Plan plan = two_boxes();
    auto room = make_room(plan, {});
    ASSERT_TRUE(room);
    auto second = click({"B"}, {"px"});
    second.sheet.label = "t2";
    ASSERT_TRUE((*room)->render(click({"A"}, {"pa"})));
    const auto after = (*room)->render(second);
    ASSERT_TRUE(after);
    EXPECT_EQ(after->channels, taken(plan, {}, second).channels);
}

TEST(Room, OverlappedSignalsStartWhereTheSheetSays) {
    const plan::Plan plan = two_boxes();
    auto request = click({"A", "B"}, {"pa", "pb"});
    request.played.assign(100, 0.0F);
    request.played[0] = 0.5F;
    request.sheet.starts = {{"A", 0.1}, {"B", 0.5}};
    const auto recording = taken(plan, exact(), request);
    const auto peak_between = [&](std::size_t channel, std::size_t first, std::size_t last) {
        const auto& all = recording.channels[channel];
        return first + peak_of(std::vector<float>(all.begin() + static_cast<std::ptrdiff_t>(first), all.begin() + static_cast<std::ptrdiff_t>(last)));
    };
    const std::size_t first_loop = peak_between(0, 0, 20000), second_loop = peak_between(0, 20000, 48000);
    EXPECT_EQ(second_loop - first_loop, 19200u);
    EXPECT_EQ(peak_between(2, 20000, 48000) - peak_between(1, 0, 20000), 19200u);
}

TEST(Room, DeviceFeedsTheCircuitOfEachOutput) {
    const plan::Plan plan = two_boxes();
    auto room = make_room(plan, exact());
    ASSERT_TRUE(room);
    const auto device = (*room)->device();
    EXPECT_EQ(device->info().outputs, 2);
    auto request = click({"B"}, {"pb"});
    request.outputs = {{2, request.played}, {7, request.played}};  // 7: the loopback's own output
    std::atomic<bool> stop = false;
    double last = 0.0;
    int reports = 0;
    const auto live = device->run(request, [&](const capture::Progress& progress) {
        EXPECT_GT(progress.done_s, last);
        last = progress.done_s;
        ++reports;
    }, stop);
    ASSERT_TRUE(live);
    EXPECT_GE(reports, 10);
    EXPECT_DOUBLE_EQ(last, 1.0);
    EXPECT_EQ(live->channels, taken(plan, exact(), click({"B"}, {"pb"})).channels);
}

TEST(Room, StoppedDeviceSaysSo) {
    auto room = make_room(two_boxes(), exact());
    ASSERT_TRUE(room);
    std::atomic<bool> stop = true;
    const auto live = (*room)->device()->run(click({"A"}, {"pa"}), {}, stop);
    ASSERT_FALSE(live);
    EXPECT_EQ(live.error().kind, FaultKind::device);
}

TEST(Room, CalibratorTakeStandsAtItsLevel) {
    auto request = click({}, {""});
    request.sheet.kind = signal::TakeKind::calibrator;
    request.sheet.calibrator_db = 114.0;
    const auto louder = taken(two_boxes(), {}, request);
    request.sheet.calibrator_db = 94.0;
    const auto quieter = taken(two_boxes(), {}, request);
    EXPECT_NEAR(rms_db(louder.channels[1], 0, 48000) - rms_db(quieter.channels[1], 0, 48000), 20.0, 0.05);
}

TEST(Room, RefusesWhatThePlanDoesNotHave) {
    auto room = make_room(two_boxes(), exact());
    ASSERT_TRUE(room);
    const auto reason = [&](const capture::PlayRequest& request) {
        const auto recording = (*room)->render(request);
        return recording ? std::string() : sentence(recording.error());
    };
    EXPECT_NE(reason(click({"C"}, {"pa"})).find("no circuit \"C\""), std::string::npos);
    EXPECT_NE(reason(click({"A"}, {"nowhere"})).find("no position \"nowhere\""), std::string::npos);
    auto request = click({"A"}, {"pa"});
    request.rate_hz = 44100.0;
    EXPECT_NE(reason(request).find("48000 Hz"), std::string::npos);
    request = click({"A"}, {"pa"});
    request.seconds = std::numeric_limits<double>::quiet_NaN();
    EXPECT_NE(reason(request).find("take"), std::string::npos);
    Settings settings;
    settings.snr_db = std::numeric_limits<double>::quiet_NaN();
    EXPECT_FALSE(make_room(two_boxes(), settings));
    EXPECT_FALSE(make_room(plan::Plan{}, {}));
}

}  // namespace
}  // namespace proofwalk::rehearsal
