#include "walk/sound_watch.hpp"

#include <gmock/gmock.h>

#include <random>

#include "scratch_show.hpp"
#include "signal/loopback.hpp"
#include "units/convert.hpp"
#include "walk/live_take.hpp"
#include "walk/run_sequence.hpp"

namespace proofwalk::walk {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

// Output 1 reaches input 1 (loopback) and, with `gain`, the mics on the inputs after it.
class PlainRoom final : public capture::Device {
public:
    float gain = 0.1F, noise = 1e-5F;
    bool clips = false;
    bool wired = true;        // the loopback
    std::vector<double> levels_dbfs;  // of everything that was played
    std::vector<bool> trials;
    int lost_takes = 0;       // this many takes lose samples
    std::function<void()> while_playing;

    [[nodiscard]] capture::DeviceInfo info() const override { return {"plain", "test", 4, 4, 48000.0}; }
    [[nodiscard]] Result<capture::Recording> run(const capture::PlayRequest& request, const std::function<void(const capture::Progress&)>&,
                                                 const std::atomic<bool>& stop) override {
        if (while_playing && !request.sheet.trial) while_playing();
        if (stop) return std::unexpected(Fault{FaultKind::device, "", "", "the take was stopped by hand", ""});
        const auto samples = static_cast<std::size_t>(std::llround(request.seconds * request.rate_hz));
        capture::Recording take;
        take.sheet = request.sheet;
        take.rate_hz = request.rate_hz;
        take.played = request.played;
        take.device = "plain";
        take.channels.assign(static_cast<std::size_t>(request.inputs), std::vector<float>(samples, 0.0F));
        float peak = 0.0F;
        for (const auto& output : request.outputs)
            for (std::size_t n = 0; n + 240 < samples && n < output.samples.size(); ++n) {
                peak = std::max(peak, std::abs(output.samples[n]));
                if (wired) take.channels[0][n] += output.samples[n];
                for (std::size_t c = 1; c < take.channels.size(); ++c) take.channels[c][n + 240] += (clips ? 200.0F : gain) * output.samples[n];
            }
        if (!request.outputs.empty()) {
            levels_dbfs.push_back(std::round(amplitude_db(static_cast<double>(peak))));
            trials.push_back(request.sheet.trial);
        }
        std::normal_distribution<float> normal(0.0F, noise);
        for (auto& channel : take.channels)
            for (float& sample : channel) sample = std::clamp(sample + normal(random_), -1.0F, 1.0F);
        if (!request.sheet.trial && lost_takes > 0) {
            --lost_takes;
            take.lost_samples = true;
        }
        take.sha256 = capture::raw_sha256(take.rate_hz, take.channels);
        return take;
    }

private:
    std::mt19937 random_{3};
};

class Watch : public testing::Test {
protected:
    Result<StoredTake> take(double level_dbfs, SoundWatch::Ask ask = {}) {
        LiveTake wanted;
        wanted.circuit = "CA";
        wanted.mics = {{2, "m1", "q1"}};
        wanted.known_mics = mics;
        wanted.armed_by = "R. Walker";
        wanted.drive.length_s = 0.5;
        wanted.drive.level_dbfs = level_dbfs;
        wanted.watch = &watch;
        wanted.say = [this](const std::string& text) { said += text + "\n"; };
        wanted.ask = std::move(ask);
        return take_live(show, room, wanted, {}, stop);
    }
    // The mic at q1 reads so many dBA when a sweep plays at -40 dBFS.
    void calibrate(double dba_at_minus_40) {
        const double rms = 0.1 * amplitude_of_db(-40.0) / std::sqrt(2.0);
        mics = {{"m1", {}, reference_pressure_pa * amplitude_of_db(dba_at_minus_40) / rms, 0.0, ""}};
    }

    ScratchShow scratch;
    Show show = scratch.open();
    PlainRoom room;
    SoundWatch watch;
    std::vector<capture::Mic> mics;
    std::atomic<bool> stop{false};
    std::string said;
};

TEST_F(Watch, StartsLowAndClimbsToTheWantedLevel) {
    ASSERT_TRUE(take(-14.0).has_value());
    EXPECT_THAT(room.levels_dbfs, ElementsAre(-40, -34, -28, -22, -16, -14));
    EXPECT_THAT(room.trials, ElementsAre(true, true, true, true, true, false)) << "only the last is stored";
    EXPECT_EQ(show.log.takes(false)->size(), 1u);
    room.levels_dbfs.clear();
    ASSERT_TRUE(take(-14.0).has_value());
    EXPECT_THAT(room.levels_dbfs, ElementsAre(-14)) << "this circuit has been there in this arming";
    EXPECT_THAT(said, HasSubstr("level where people stand is unknown"));
    watch.disarm();
    room.levels_dbfs.clear();
    ASSERT_TRUE(take(-34.0).has_value());
    EXPECT_THAT(room.levels_dbfs, ElementsAre(-40, -34)) << "a new arming starts low again";
}

TEST_F(Watch, DoesNotGoLoudWhereNoMicHears) {
    room.gain = 0.0F;
    ASSERT_TRUE(take(-6.0).has_value()) << "a silent circuit is a finding, and is stored";
    EXPECT_EQ(room.levels_dbfs.back(), -20.0);
    EXPECT_THAT(said, HasSubstr("no mic hears CA yet"));
    EXPECT_THAT(said, HasSubstr("Played at -20.0 dBFS instead of -6.0"));
}

TEST_F(Watch, DoesNotClimbWhileAMicIsOverloaded) {
    room.clips = true;
    ASSERT_TRUE(take(-10.0).has_value());
    EXPECT_THAT(room.levels_dbfs, ElementsAre(-40, -40));
    EXPECT_THAT(said, HasSubstr("overloaded"));
}

TEST_F(Watch, HoldsTheCeilingWherePeopleStandAndAsksForAClearHall) {
    calibrate(80.0);  // at the mic, 6 m or so from the box; nearer places are louder
    const auto refused = take(-20.0);
    ASSERT_FALSE(refused.has_value());
    EXPECT_THAT(sentence(refused.error()), HasSubstr("hall is clear"));
    EXPECT_EQ(exit_status(refused.error()), 2);
    EXPECT_TRUE(show.log.takes(false)->empty());
    for (const double level : room.levels_dbfs) EXPECT_LE(level, -34.0) << "nothing above 85 dBA was played";
    std::string asked;
    ASSERT_FALSE(take(-20.0, [&](const std::string& question) {
                     asked = question;
                     return false;
                 }).has_value());
    EXPECT_THAT(asked, HasSubstr("Is the hall clear?"));
    ASSERT_TRUE(take(-20.0, [](const std::string&) { return true; }).has_value());
    EXPECT_LT(room.levels_dbfs.back(), -20.0) << "100 dBA come before -20 dBFS";
    EXPECT_THAT(said, HasSubstr("louder would be too much where a person may stand"));
    EXPECT_GT(watch.exposure().dose_pct(), 0.0);
    EXPECT_THAT(watch.exposure_line(), HasSubstr("local rules decide"));
    // What was predicted of the loudest play: within 100 dBA, and the dose that of its seconds.
    EXPECT_LE(*watch.exposure().equivalent_dba(), 100.5);
}

TEST_F(Watch, TheDoseIsThatOfTheLevelAndTheSeconds) {
    calibrate(70.0);
    ASSERT_TRUE(take(-40.0).has_value());
    // One trial of 0.3 s and the take of 0.5 s, both at 70 dBA at the mic, moved to 3 m from the box.
    const double nearer_db = *watch.exposure().equivalent_dba() - 70.0;
    const plan::Plan& plan = show.plan.plan;
    const double away_m = distance(plan.box("CA")->at, plan.position("q1")->at);
    EXPECT_NEAR(nearer_db, amplitude_db(away_m / 3.0), 1.0) << "A-weighting of a sweep over the box's range takes some tenths off";
    EXPECT_NEAR(watch.exposure().dose_pct(), 100.0 * 0.8 / capture::allowed_s(70.0 + nearer_db), 1e-6);
    EXPECT_NEAR(watch.sounded_s(), 0.8, 1e-9);
}

TEST_F(Watch, SaysThatTheRoomIsTooLoudAndHowMuch) {
    SoundRules careful;
    careful.noise_u_db = 0.05;
    watch = SoundWatch(careful);
    room.noise = 3e-3F;
    ASSERT_TRUE(take(-30.0).has_value());
    EXPECT_THAT(said, HasSubstr("The room is too loud"));
    EXPECT_THAT(said, HasSubstr("dB louder"));
}

TEST_F(Watch, SaysThatTheReferenceIsMissingOrSwapped) {
    room.wired = false;
    (void)take(-34.0);
    EXPECT_THAT(said, HasSubstr("channel 1 is said to be the reference, but channel 2 carries what is played"));
    watch.disarm();
    said.clear();
    room.gain = 0.0F;
    (void)take(-34.0);
    EXPECT_THAT(said, HasSubstr("the reference on channel 1 does not carry what is played"));
}

TEST_F(Watch, OneCableFromAnOutputToAnInputProvesTheLoopback) {
    LiveTake proof;
    proof.armed_by = "R. Walker";
    proof.watch = &watch;
    proof.drive.kind = signal::TakeKind::loopback;
    proof.drive.length_s = 1.0;
    const auto stored = take_live(show, room, proof, {}, stop);
    ASSERT_TRUE(stored.has_value()) << sentence(stored.error());
    ASSERT_EQ(stored->record.evidence.size(), 1u);
    const auto chain = signal::chain_figures(stored->record.evidence[0].evidence, 20.0, 20000.0);
    ASSERT_TRUE(chain.has_value());
    EXPECT_NEAR(chain->gain_db, 0.0, 0.1);
    EXPECT_LT(chain->flatness_db, 0.1);
    EXPECT_EQ(chain->polarity, 1);
}

TEST_F(Watch, RefusesUnarmedAndAboveTheCeiling) {
    LiveTake nobody;
    nobody.circuit = "CA";
    nobody.mics = {{2, "m1", "q1"}};
    nobody.watch = &watch;
    EXPECT_FALSE(take_stored(show, room, nobody, {}, stop).has_value());
    EXPECT_FALSE(take(-1.0).has_value());
    EXPECT_TRUE(room.levels_dbfs.empty()) << "nothing played";
}

TEST_F(Watch, OneCautionForTheWholeProgram) {
    EXPECT_EQ(sound_caution(), capture::sound_caution_text());
    for (const char* part : {"loud", "ears", "stop key", "Exposure", "Local rules"}) EXPECT_THAT(sound_caution(), HasSubstr(part));
}

// A real device that a person named, without a watch given: it still starts low.
TEST_F(Watch, WithoutAWatchARealDeviceStartsLowAllTheSame) {
    LiveTake wanted;
    wanted.circuit = "CA";
    wanted.mics = {{2, "m1", "q1"}};
    wanted.armed_by = "R. Walker";
    wanted.drive.length_s = 0.5;
    ASSERT_TRUE(take_stored(show, room, wanted, {}, stop).has_value());
    EXPECT_THAT(room.levels_dbfs, ElementsAre(-40, -34, -28, -22, -20));
}

TEST_F(Watch, AStopByHandDisarms) {
    room.while_playing = [&] { stop = true; };
    ASSERT_FALSE(take(-34.0).has_value());
    EXPECT_FALSE(watch.armed());
}

}  // namespace
}  // namespace proofwalk::walk
