#include <cmath>

#include <gtest/gtest.h>

#include "acoustics/coverage.hpp"
#include "acoustics/directivity.hpp"

namespace proofwalk::acoustics {
namespace {

TEST(BeamModel, IsTheParabolaOfThePlanFormat) {
    const auto beam = beam_directivity({.coverage_h_deg = 90, .coverage_v_deg = 60, .aim_low_hz = 2000});
    EXPECT_EQ(beam->loss_db(0, 0, 4000.0), 0.0);
    EXPECT_NEAR(beam->loss_db(45, 0, 4000.0), -6.0, 1e-12);
    EXPECT_NEAR(beam->loss_db(0, -30, 4000.0), -6.0, 1e-12);
    EXPECT_NEAR(beam->loss_db(-45, 30, 2000.0, 8000.0), -12.0, 1e-12);
    EXPECT_NEAR(beam->loss_db(22.5, 0, 4000.0), -1.5, 1e-12);
    EXPECT_EQ(beam->loss_db(150, 80, 4000.0), -30.0);  // the floor
}

TEST(BeamModel, WidensBelowItsControlFrequency) {
    // Keele's rule: a 0.6 m mouth of 60 degrees controls down to 705.56 Hz, a 0.6 m mouth of 90 degrees to 470.37 Hz.
    const auto beam = beam_directivity({.coverage_h_deg = 60, .coverage_v_deg = 90, .aim_low_hz = 2000, .width_m = 0.6, .height_m = 0.6});
    EXPECT_NEAR(beam->loss_db(30, 0, 705.6), -6.0, 0.01);
    EXPECT_NEAR(beam->loss_db(30, 0, 705.56 / 2.0), -1.5, 0.01);  // twice as wide
    EXPECT_NEAR(beam->loss_db(0, 45, 470.4), -6.0, 0.01);
    EXPECT_NEAR(beam->loss_db(0, 45, 470.37 / 2.0), -1.5, 0.01);
    EXPECT_NEAR(beam->loss_db(30, 0, 1000.0), -6.0, 1e-12);
}

TEST(BeamModel, KeepsItsAngleInTheAimBandWhateverTheSize) {
    const auto small = beam_directivity({.coverage_h_deg = 60, .coverage_v_deg = 40, .aim_low_hz = 2000, .width_m = 0.1, .height_m = 0.1});
    EXPECT_NEAR(small->loss_db(30, 0, 2000.0), -6.0, 1e-12);
    EXPECT_NEAR(small->loss_db(30, 0, 2000.0, 8000.0), -6.0, 0.05);
    EXPECT_NEAR(small->loss_db(30, 0, 1000.0), -1.5, 1e-9);
}

TEST(Coverage, OfTheBeamModelIsItsOwn) {
    const auto beam = beam_directivity({.coverage_h_deg = 80, .coverage_v_deg = 50, .aim_low_hz = 2000});
    const CoverageAt found = coverage_at(*beam, 2000, 8000);
    EXPECT_NEAR(found.horizontal_deg().value_or(0.0), 80.0, 1e-9);
    EXPECT_NEAR(found.vertical_deg().value_or(0.0), 50.0, 1e-9);
    EXPECT_EQ(coverage_by_band(*beam, 2000, 8000).size(), 7u);
    EXPECT_FALSE(coverage_at(*omni_directivity(), 2000, 8000).horizontal_deg());
}

TEST(Omni, IsTheSameAllRound) {
    EXPECT_EQ(omni_directivity()->loss_db(180, 45, 50.0), 0.0);
    EXPECT_EQ(omni_directivity()->loss_db(-90, -45, 30.0, 90.0), 0.0);
}

TEST(BandMean, IsAPowerMeanOfTheMidbands) {
    EXPECT_NEAR(band_mean_db(2000, 8000, [](double) { return -3.0; }), -3.0, 1e-12);
    // Two of three bands silent leave a third of the power.
    EXPECT_NEAR(band_mean_db(900, 1300, [](double f) { return f < 1100 ? 0.0 : -300.0; }), 10.0 * std::log10(0.5), 1e-9);
    // Between two midbands the value at the geometric mean.
    EXPECT_NEAR(band_mean_db(1080, 1150, [](double f) { return f; }), std::sqrt(1080.0 * 1150.0), 1e-9);
}

}  // namespace
}  // namespace proofwalk::acoustics
