// Delay chains, pairs aimed in, subs.
#include <cmath>
#include <random>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "acoustics/delay_chain.hpp"
#include "acoustics/evenness.hpp"
#include "acoustics/subs.hpp"
#include "units/convert.hpp"

namespace proofwalk::acoustics {
namespace {

using testing::HasSubstr;

TEST(DelayChain, JoinsWithoutAGapInLevelAndTime) {
    std::mt19937_64 random(5);
    const auto between = [&](double a, double b) { return std::uniform_real_distribution<double>(a, b)(random); };
    double worst_us = 0.0, worst_db = 0.0;
    int solved = 0;
    for (int i = 0; i < 2000; ++i) {
        ChainWish wish;
        wish.main_height_m = between(3, 8);
        wish.main_tilt_deg = between(-30, 0);
        wish.main_coverage_v_deg = between(30, 90);
        wish.box_height_m = between(2, 5);
        wish.box_coverage_v_deg = between(40, 100);
        wish.joins_m = {between(15, 22), between(28, 36)};
        wish.last_row_m = between(45, 55);
        wish.late_ms = between(0, 8);
        wish.air_db_per_m = between(0, 0.05);
        wish.speed_m_per_s = between(335, 350);
        const auto chain = delay_chain(wish);
        if (!chain) continue;
        ++solved;
        // Arrivals and levels at each join by plain geometry.
        double at = 0.0, height = wish.main_height_m, delay = 0.0, tilt = wish.main_tilt_deg, gain = wish.main_level_1m_db, coverage = wish.main_coverage_v_deg;
        for (const ChainBox& box : *chain) {
            const double r1 = std::hypot(box.join_m - at, height), r2 = std::hypot(box.join_m - box.at_m, wish.box_height_m);
            const double late_ms = (box.delay_ms + 1000.0 * r2 / wish.speed_m_per_s) - (delay + 1000.0 * r1 / wish.speed_m_per_s);
            worst_us = std::max(worst_us, 1000.0 * std::abs(late_ms - wish.late_ms));
            const auto level = [&](double x0, double z, double t, double g, double c) {
                const double r = std::hypot(box.join_m - x0, z), off = degrees(std::atan2(-z, box.join_m - x0)) - t;
                return g + std::max(-6.0 * std::pow(off / (c / 2), 2), -30.0) - 20.0 * std::log10(r) - wish.air_db_per_m * r;
            };
            const double before = level(at, height, tilt, gain, coverage);
            at = box.at_m, height = wish.box_height_m, delay = box.delay_ms, tilt = box.tilt_deg, gain = wish.box_level_1m_db + box.gain_db, coverage = wish.box_coverage_v_deg;
            worst_db = std::max(worst_db, std::abs(before - level(at, height, tilt, gain, coverage)));
            EXPECT_LE(box.overlap_from_m, box.join_m);
            EXPECT_GE(box.overlap_to_m, box.join_m);
        }
    }
    EXPECT_GT(solved, 500);
    EXPECT_LT(worst_us, 1.0);
    EXPECT_LT(worst_db, 1e-6);
    std::printf("delay chain: worst %.1e us, %.1e dB over %d rooms\n", worst_us, worst_db, solved);
}

TEST(DelayChain, CoversItsZoneFromEndToEnd) {
    ChainWish wish;
    wish.main_tilt_deg = -15;
    const auto joins = even_joins(wish, 2, 6.0);
    ASSERT_TRUE(joins) << joins.error().reason;
    wish.joins_m = *joins;
    const auto chain = delay_chain(wish);
    ASSERT_TRUE(chain) << chain.error().reason;
    ASSERT_EQ(chain->size(), 2u);
    EXPECT_DOUBLE_EQ((*chain)[0].end_m, (*chain)[1].join_m);
    EXPECT_DOUBLE_EQ((*chain)[1].end_m, wish.last_row_m);
    for (const ChainBox& box : *chain) EXPECT_NEAR(box.quietest_db, box.join_level_db, 0.01);  // the ends are the quietest places
    // Before the join, nearer to the main, the delay speaker comes late; beyond it the main does.
    EXPECT_GE((*chain)[0].late_at_from_ms, -1e-9);
}

TEST(DelayChain, RefusesTheImpossible) {
    ChainWish wish;
    wish.joins_m = {30, 20};
    EXPECT_THAT(sentence(delay_chain(wish).error()), HasSubstr("rising"));
    wish.joins_m = {10};
    wish.box_coverage_v_deg = 10;
    wish.box_height_m = 6;
    EXPECT_THAT(sentence(delay_chain(wish).error()), HasSubstr("wider box"));
    EXPECT_THAT(sentence(even_joins(wish, 2, 80.0).error()), HasSubstr("no delay speaker is needed"));
}

TEST(DelayFor, IsTheRuleOfThumb) {
    // Common practice, no source: about 2.9 ms a metre of path difference.
    EXPECT_NEAR(delay_for_ms(21.5, 0.0, 6.0, 0.0, 343.2), 1000.0 * 15.5 / 343.2, 1e-9);
    EXPECT_NEAR(delay_for_ms(21.5, 3.0, 6.0, 5.0, 343.2), 1000.0 * 15.5 / 343.2 + 8.0, 1e-9);
}

TEST(AimedIn, TheMirrorImageIsHeardAlike) {
    PairWish wish;
    wish.box = beam_directivity({.coverage_h_deg = 80, .coverage_v_deg = 50});
    const auto table = aim_in_table(wish, {-15, 0, 15, 30});
    ASSERT_TRUE(table);
    ASSERT_EQ(table->size(), 4u);
    for (const AimedIn& row : *table) {
        ASSERT_EQ(row.places.size(), row.rows * row.columns);
        for (std::size_t r = 0; r < row.rows; ++r)
            for (std::size_t c = 0; c < row.columns; ++c) {
                const PlaceHeard &one = row.places[r * row.columns + c], &mirror = row.places[r * row.columns + row.columns - 1 - c];
                EXPECT_NEAR(one.level_db, mirror.level_db, 1e-9);
                EXPECT_NEAR(one.apart_ms, -mirror.apart_ms, 1e-9);
            }
        const PlaceHeard& middle = row.places[row.columns / 2];
        EXPECT_NEAR(middle.difference_db, 0.0, 1e-9);
        EXPECT_EQ(middle.ripple_db, 40.0);
    }
    // Aimed out there is less overlap, so less comb; aimed far in, more.
    EXPECT_LT((*table)[0].mean_ripple_db, (*table)[1].mean_ripple_db);
    EXPECT_GT((*table)[0].loudest_db, (*table)[0].quietest_db);
    wish.near_m = -1;
    EXPECT_FALSE(aim_in_table(wish, {0}));
}

TEST(Subs, EndFiredSumsInFrontAndGradientCancelsBehind) {
    constexpr double c = 344.0;
    const auto row = sub_preset(SubPreset::end_fired, 4, 0.9, 100.0, c);
    ASSERT_TRUE(row);
    EXPECT_NEAR(sub_level_db(*row, 0, 60, c), 20 * std::log10(4.0), 1e-9);
    EXPECT_LT(sub_level_db(*row, 180, 60, c), 0.0);
    const auto pair = sub_preset(SubPreset::gradient, 2, 0.86, 100.0, c);
    ASSERT_TRUE(pair);
    EXPECT_LT(sub_level_db(*pair, 180, 40, c), -200.0);
    EXPECT_LT(sub_level_db(*pair, 180, 80, c), -200.0);
    // In front: |1 - e^{-j 2 w d/c}|, +6.02 dB where the spacing is a quarter wavelength.
    EXPECT_NEAR(sub_level_db(*pair, 0, c / (4 * 0.86), c), 6.0206, 1e-3);
    EXPECT_NEAR(sub_level_db(*pair, 0, 40, c), 20 * std::log10(2 * std::sin(2 * std::numbers::pi * 40 * 0.86 / c)), 1e-9);
    EXPECT_THAT(sentence(sub_preset(SubPreset::end_fired, 4, 3.0, 100.0, c).error()), HasSubstr("widest possible is 1.72 m"));
    EXPECT_FALSE(sub_preset(SubPreset::gradient, 3, 0.8, 100, c));
}

TEST(Subs, AlignAtAPlace) {
    const SubAlignment found = align_sub({8.0, 15.0, 2.0, 5.0, -20.0, -26.0, 60, 120}, 344.0);
    EXPECT_NEAR(found.sub_delay_ms, 1000.0 * 7.0 / 344.0 + 3.0, 1e-9);
    EXPECT_NEAR(found.sub_gain_db, -6.0, 1e-12);
    EXPECT_NEAR(found.lag_at_60_deg_ms, 1000.0 / (6.0 * 84.853), 1e-3);  // 100 Hz: 1.67 ms
}

}  // namespace
}  // namespace proofwalk::acoustics
