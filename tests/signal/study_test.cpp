// The short form of tests/bench/room_study.cpp: a few rooms of each kind against the goals of the long form.
#include "signal/study.hpp"

#include <gtest/gtest.h>

namespace proofwalk::test {
namespace {

StudyFigures figures(double aim_snr_db, int rooms, bool noise_take, int knocks) {
    StudySettings settings;
    settings.rooms = rooms;
    settings.first_seed = 5000;
    settings.aim_snr_db = aim_snr_db;
    settings.noise_take = noise_take;
    settings.knocks = knocks;
    return figures_of(study_cases(settings));
}

TEST(Study, sweeps_at_20_and_10_dB) {
    for (const double snr_db : {20.0, 10.0}) {
        const StudyFigures f = figures(snr_db, 16, false, 0);
        EXPECT_EQ(f.arrivals, 16);
        EXPECT_LE(f.arrival_p95_us, snr_db == 20.0 ? 20.0 : 40.0);
        EXPECT_LE(f.level_p95_db, 0.5);
        EXPECT_EQ(f.silent_wrong_peaks, 0);
        EXPECT_EQ(f.polarity_wrong_pct, 0.0);
        EXPECT_GE(f.polarity_told_pct, 90.0);
        EXPECT_GE(f.arrival_held_pct, 85.0);
        EXPECT_GE(f.level_held_pct, 80.0);
    }
}

TEST(Study, noise_with_knocks) {
    const StudyFigures f = figures(20.0, 6, true, 3);
    EXPECT_EQ(f.arrivals, 6);
    EXPECT_LE(f.arrival_p95_us, 25.0);
    EXPECT_LE(f.level_p95_db, 0.5);
    EXPECT_EQ(f.polarity_wrong_pct, 0.0);
}

TEST(Study, a_sub_states_an_uncertainty_of_its_own_size) {
    StudySettings settings;
    settings.rooms = 6;
    settings.room.sub = true;
    settings.room.crossover = false;
    settings.room.range_low_hz = 30.0;
    settings.room.range_high_hz = 100.0;
    settings.room.aim_low_hz = 40.0;
    settings.room.aim_high_hz = 80.0;
    const StudyFigures f = figures_of(study_cases(settings));
    EXPECT_GE(f.arrivals, 4);
    EXPECT_GT(f.mean_arrival_u_us, 1000.0);
    EXPECT_EQ(f.silent_wrong_peaks, 0);
}

}  // namespace
}  // namespace proofwalk::test
