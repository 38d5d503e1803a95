#include <gmock/gmock.h>

#include <cmath>

#include "capture/exposure.hpp"
#include "capture/safety.hpp"

namespace proofwalk::capture {
namespace {

using testing::HasSubstr;

// CDC/NIOSH, recommended exposure limit: durations printed for 85 to 100 dBA.
TEST(Exposure, AllowedTimesAreThosePrintedByNiosh) {
    const double printed[][2] = {{85, 480}, {88, 240}, {91, 120}, {94, 60}, {97, 30}, {100, 15}};
    for (const auto& [level, minutes] : printed) EXPECT_NEAR(allowed_s(level) / 60.0, minutes, 1e-6);
}

// ISO 9612:2009, annex D, task-based day: 70 dB 1.5 h; three samples of 5 h; six samples of 1.5 h; printed 84.3 dB(A).
TEST(Exposure, TaskBasedDayOfTheStandard) {
    const auto energy_mean = [](std::initializer_list<double> levels) {
        double sum = 0.0;
        for (const double level : levels) sum += std::pow(10.0, level / 10.0);
        return 10.0 * std::log10(sum / static_cast<double>(levels.size()));
    };
    Exposure day;
    day.add(70.0, 1.5 * 3600);
    day.add(energy_mean({80.1, 82.2, 79.6}), 5.0 * 3600);
    day.add(energy_mean({86.5, 92.4, 89.3, 93.2, 87.8, 86.2}), 1.5 * 3600);
    EXPECT_NEAR(*day.lex_8h_dba(), 84.3, 0.05);
    // Annex F, full-day measurement: six samples over 9.25 h; printed 90.1 dB(A).
    Exposure full;
    full.add(energy_mean({88.0, 91.9, 87.6, 90.4, 89.0, 88.4}), 9.25 * 3600);
    EXPECT_NEAR(*full.lex_8h_dba(), 90.1, 0.05);
}

// The contribution of 105 dBA for 5 min to LEX,8h: L + 10 lg(t / 8 h) = 85.177.
TEST(Exposure, ShortLoudSignalsCount) {
    Exposure five_minutes;
    five_minutes.add(105.0, 300.0);
    EXPECT_NEAR(*five_minutes.lex_8h_dba(), 85.177, 0.001);
    EXPECT_NEAR(*five_minutes.equivalent_dba(), 105.0, 1e-9);
}

TEST(Exposure, DoseAddsUpAndLeavesTheRest) {
    Exposure walk;
    EXPECT_EQ(walk.lex_8h_dba(), std::nullopt);
    EXPECT_EQ(walk.dose_pct(), 0.0);
    EXPECT_NEAR(walk.remaining_s(100.0), 900.0, 1e-6);
    walk.add(100.0, 450.0);
    EXPECT_NEAR(walk.dose_pct(), 50.0, 1e-9);
    EXPECT_NEAR(walk.remaining_s(94.0), 1800.0, 1e-6);
    walk.add(100.0, 900.0);
    EXPECT_NEAR(walk.dose_pct(), 150.0, 1e-9);
    EXPECT_EQ(walk.remaining_s(85.0), 0.0);
    walk.add(100.0, -5.0);
    walk.add(std::nan(""), 5.0);
    EXPECT_NEAR(walk.dose_pct(), 150.0, 1e-9);
}

TEST(Safety, NothingPlaysUntilANamedPersonHasArmedIt) {
    SoundSafety safety;
    EXPECT_THAT(sentence(safety.allow(-40.0, {}).error()), HasSubstr("until a person has armed it"));
    EXPECT_THAT(sentence(safety.arm("  ", true, {}).error()), HasSubstr("named person"));
    EXPECT_THAT(sentence(safety.arm("R. Walker", false, {}).error()), HasSubstr("caution"));
    EXPECT_FALSE(safety.armed());
    ASSERT_TRUE(safety.arm("R. Walker", true, {}).has_value());
    EXPECT_TRUE(safety.allow(-40.0, {}).has_value());
    EXPECT_EQ(safety.armed_by(), "R. Walker");
    safety.disarm();
    EXPECT_FALSE(safety.allow(-40.0, {}).has_value());
}

TEST(Safety, CeilingsHoldInFullScaleAndWherePeopleStand) {
    SoundSafety safety;
    ASSERT_TRUE(safety.arm("R. Walker", true, {}).has_value());
    EXPECT_THAT(sentence(safety.allow(-2.0, {}).error()), HasSubstr("above the ceiling of -3.0 dBFS"));
    EXPECT_FALSE(safety.allow(std::nan(""), {}).has_value());
    // 80 dBA at a mic 12 m away at -20 dBFS: 3 m from the box it is 12 dB more.
    const HeardLevel heard{80.0, -20.0, 12.0, 3.0};
    EXPECT_NEAR(predicted_dba(heard, -20.0), 92.04, 0.01);
    EXPECT_THAT(sentence(safety.allow(-20.0, heard).error()), HasSubstr("hall is clear"));
    safety.confirm_hall_clear({});
    EXPECT_TRUE(safety.allow(-20.0, heard).has_value());
    EXPECT_THAT(sentence(safety.allow(-10.0, heard).error()), HasSubstr("about 102 dBA where a person may stand, 3.0 m from a box"));
    EXPECT_THAT(sentence(safety.allow(-10.0, heard).error()), HasSubstr("play at most -12.0 dBFS"));
    // A place farther than the mic is not taken to be quieter.
    EXPECT_NEAR(predicted_dba({80.0, -20.0, 3.0, 30.0}, -20.0), 80.0, 1e-9);
    EXPECT_TRUE(std::isfinite(predicted_dba({80.0, -20.0, 0.0, 0.0}, -20.0)));
    safety.disarm();
    ASSERT_TRUE(safety.arm("R. Walker", true, {}).has_value());
    EXPECT_FALSE(safety.allow(-20.0, heard).has_value()) << "a new arming asks for the hall again";
}

TEST(Safety, LevelsStartLowAndClimbInSteps) {
    const SoundSafety safety;
    double level = safety.next_level_dbfs(-12.0, {}, Hearing::well, {});
    EXPECT_EQ(level, -40.0);
    std::vector<double> climb;
    while (level < -12.0) climb.push_back(level = safety.next_level_dbfs(-12.0, level, Hearing::well, {}));
    EXPECT_EQ(climb, (std::vector<double>{-34, -28, -22, -16, -12}));
    EXPECT_EQ(safety.next_level_dbfs(-12.0, -34.0, Hearing::overloaded, {}), -34.0) << "no climb while a mic is overloaded";
    EXPECT_EQ(safety.next_level_dbfs(-12.0, -34.0, Hearing::nothing, {}), -28.0) << "a quiet play may drown in the noise of the room";
    EXPECT_EQ(safety.next_level_dbfs(-12.0, -22.0, Hearing::nothing, {}), -20.0);
    EXPECT_EQ(safety.next_level_dbfs(-12.0, -20.0, Hearing::nothing, {}), -20.0) << "not louder while no mic hears it";
    EXPECT_EQ(safety.next_level_dbfs(0.0, -4.0, Hearing::well, {}), -3.0);
    EXPECT_EQ(safety.next_level_dbfs(-50.0, {}, Hearing::well, {}), -50.0);
    EXPECT_EQ(safety.next_level_dbfs(-30.0, -12.0, Hearing::well, {}), -30.0) << "down at once";
    // 90 dBA where people stand at -34 dBFS: 100 dBA allow -24 dBFS.
    const HeardLevel loud{90.0, -34.0, 3.0, 3.0};
    EXPECT_NEAR(safety.next_level_dbfs(-12.0, -25.0, Hearing::well, loud), -24.0, 1e-9);
}

TEST(Safety, ADriverNeverGetsWhatItCannotTake) {
    const auto band = allowed_band({20.0, 20000.0}, {60.0, 18000.0});
    ASSERT_TRUE(band.has_value());
    EXPECT_EQ(band->low_hz, 60.0);
    EXPECT_EQ(band->high_hz, 18000.0);
    EXPECT_EQ(allowed_band({2000.0, 8000.0}, {30.0, 120.0}), std::nullopt) << "a sub gets no treble";
    EXPECT_EQ(allowed_band({100.0, 150.0}, {60.0, 18000.0}), std::nullopt);
}

}  // namespace
}  // namespace proofwalk::capture
