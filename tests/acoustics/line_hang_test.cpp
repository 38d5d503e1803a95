#include "acoustics/line_hang.hpp"

#include <chrono>
#include <cmath>
#include <complex>
#include <numbers>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "acoustics/hang_field.hpp"
#include "units/convert.hpp"

namespace proofwalk::acoustics {
namespace {

HangDesign hall(std::size_t boxes) {
    HangDesign design;
    design.boxes = boxes;
    design.box_height_m = 0.35;
    design.box = beam_directivity({.coverage_h_deg = 90, .coverage_v_deg = 12, .aim_low_hz = 2000, .width_m = 0.9, .height_m = 0.35});
    design.trim_m = 9.0;
    design.allowed_splay_deg = {0, 1, 2, 3, 4, 5, 6, 8, 10};
    design.allowed_tilt_deg = {-6, -4, -2, 0, 2};
    for (int i = 0; i < 30; ++i) design.ears.push_back({6.0 + 44.0 * i / 29.0, 1.2 + 1.5 * i / 29.0});
    return design;
}

// Coherent sum written out plainly, from places and angles alone.
TEST(HangFigures, AgreeWithAPlainComplexSum) {
    HangDesign design = hall(4);
    const HangAngles angles{-2.0, {1, 3, 6}};
    const auto figures = hang_figures(design, angles);
    ASSERT_TRUE(figures);
    const double c = speed_of_sound(design.air).value;
    double worst = 0.0;
    for (std::size_t ear = 0; ear < design.ears.size(); ear += 5)
        for (std::size_t band = 0; band < hang_bands; ++band) {
            double power = 0.0;
            for (const std::size_t line : {2 * band, 2 * band + 1}) {
                const double f = hang_line_hz(line);
                std::complex<double> sum;
                double tilt = angles.tilt_deg, top_x = 0.0, top_z = design.trim_m;
                for (std::size_t box = 0; box < 4; ++box) {
                    if (box > 0) tilt -= angles.splay_deg[box - 1];
                    const double dx = design.box_height_m * std::sin(radians(tilt)), dz = -design.box_height_m * std::cos(radians(tilt));
                    const double x = design.ears[ear].ahead_m - (top_x + dx / 2), z = design.ears[ear].height_m - (top_z + dz / 2);
                    const double r = std::hypot(x, z), off = degrees(std::atan2(z, x)) - tilt;
                    sum += std::polar(amplitude_of_db(design.box->loss_db(0, off, f) - absorption_db_per_m(design.air, f) * r) / r, -2.0 * std::numbers::pi * f * r / c);
                    top_x += dx;
                    top_z += dz;
                }
                power += 0.5 * std::norm(sum);
            }
            worst = std::max(worst, std::abs(power_db(power) - figures->band_db[ear][band]));
        }
    EXPECT_LT(worst, 0.05);  // the pattern is read from a half-degree table
    std::printf("hang against a plain sum: worst %.4f dB\n", worst);
    EXPECT_THAT(figures->box_tilt_deg, testing::ElementsAre(-2, -3, -6, -12));
    EXPECT_NEAR(std::pow(figures->level_spread_db, 2) + std::pow(figures->spectrum_spread_db, 2), std::pow(figures->unevenness_db, 2), 1e-9);
}

TEST(OptimisedHang, IsWithinAFifthOfADecibelOfTheProvenBest) {
    double worst = 0.0;
    for (const double trim : {6.0, 8.5, 11.0})
        for (const double depth : {18.0, 35.0}) {
            HangDesign design = hall(6);
            design.trim_m = trim;
            design.allowed_splay_deg = {0, 2, 4, 7, 10};
            design.allowed_tilt_deg = {-8, -4, 0};
            design.ears.clear();
            for (int i = 0; i < 16; ++i) design.ears.push_back({5.0 + depth * i / 15.0, 1.2});
            const auto best = exhaustive_hang(design), found = optimised_hang(design);
            ASSERT_TRUE(best && found);
            const double gap = hang_figures(design, *found)->unevenness_db - hang_figures(design, *best)->unevenness_db;
            EXPECT_GE(gap, -1e-6);
            worst = std::max(worst, gap);
        }
    EXPECT_LT(worst, 0.2);
    std::printf("optimised against every combination of 6 boxes: at most %.3f dB worse\n", worst);
}

TEST(OptimisedHang, BeatsAStraightAndAnEvenlyCurvedHang) {
    const HangDesign design = hall(16);
    const auto start = std::chrono::steady_clock::now();
    const auto found = optimised_hang(design);
    std::printf("16 boxes optimised in %.2f s\n", std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count());
    ASSERT_TRUE(found);
    const double optimised = hang_figures(design, *found)->unevenness_db;
    for (const double splay : {0.0, 1.0, 2.0, 3.0, 4.0})
        for (const double tilt : design.allowed_tilt_deg)
            EXPECT_LT(optimised, hang_figures(design, {tilt, std::vector<double>(15, splay)})->unevenness_db);
    for (const double angle : found->splay_deg) EXPECT_TRUE(std::ranges::find(design.allowed_splay_deg, angle) != design.allowed_splay_deg.end());
    std::printf("unevenness %.2f dB (level %.2f, spectrum %.2f), tilt %.0f, splay", optimised, hang_figures(design, *found)->level_spread_db,
                hang_figures(design, *found)->spectrum_spread_db, found->tilt_deg);
    for (const double angle : found->splay_deg) std::printf(" %.0f", angle);
    std::printf("\n");
}

TEST(OptimisedHang, FollowsAWantedFall) {
    HangDesign design = hall(8);
    for (std::size_t i = 0; i < design.ears.size(); ++i) design.ears[i].wanted_db = -6.0 * static_cast<double>(i) / static_cast<double>(design.ears.size() - 1);
    const auto sloped = optimised_hang(design);
    ASSERT_TRUE(sloped);
    const auto figures = hang_figures(design, *sloped);
    EXPECT_GT(figures->level_db.front(), figures->level_db.back() + 2.0);
}

TEST(HangCircuits, ShareTheBoxesAndLandInOrder) {
    const HangDesign design = hall(12);
    const auto angles = optimised_hang(design);
    ASSERT_TRUE(angles);
    const auto circuits = hang_circuits(design, *angles, 4);
    ASSERT_TRUE(circuits);
    ASSERT_EQ(circuits->size(), 3u);
    EXPECT_EQ((*circuits)[2].last, 11u);
    for (std::size_t i = 0; i + 1 < 3; ++i) {
        EXPECT_GE((*circuits)[i].ear, (*circuits)[i + 1].ear);  // lower circuits land nearer
        EXPECT_LE((*circuits)[i].join_ear, (*circuits)[i].ear);
        EXPECT_GE((*circuits)[i].join_ear, (*circuits)[i + 1].ear);
    }
}

TEST(HangDesign, RefusesTheImpossible) {
    using testing::HasSubstr;
    HangDesign design = hall(8);
    EXPECT_THAT(sentence(hang_figures(design, {0, {1, 2}}).error()), HasSubstr("2 splay angles are given for 8 boxes"));
    design.trim_m = 2.0;
    EXPECT_THAT(sentence(optimised_hang(design).error()), HasSubstr("below the floor"));
    design = hall(8);
    design.ears[0].ahead_m = -2.0;
    EXPECT_THAT(sentence(optimised_hang(design).error()), HasSubstr("behind or under"));
    design = hall(12);
    EXPECT_THAT(sentence(exhaustive_hang(design).error()), HasSubstr("too many"));
    design.allowed_splay_deg = {-1};
    EXPECT_THAT(sentence(optimised_hang(design).error()), HasSubstr("splay step"));
}

}  // namespace
}  // namespace proofwalk::acoustics
