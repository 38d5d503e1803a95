#include "signal/mic_match.hpp"

#include <gtest/gtest.h>

namespace proofwalk::signal {
namespace {

Reading flat_reading(double level_db) {
    Reading reading;
    reading.arrival_s = Measured{0.03, 1e-5};
    for (std::size_t band = 0; band < band_count; ++band) {
        reading.direct_db[band] = level_db;
        reading.direct_u_db[band] = 0.1;
        reading.full_db[band] = level_db + 2.0;
        reading.full_u_db[band] = 0.1;
    }
    reading.aim_band_db = Measured{level_db, 0.1};
    return reading;
}

TEST(MicMatch, finds_what_was_planted_and_takes_it_off) {
    const Bands bands;
    std::vector<Reading> readings = {flat_reading(-20.0), flat_reading(-20.0), flat_reading(-20.0)};
    // The third mic is 1.5 dB too loud, with a further 1 dB at 4 kHz.
    readings[2] = flat_reading(-18.5);
    readings[2].direct_db[23] += 1.0;
    const auto deviations = mic_deviations(readings, bands);
    ASSERT_EQ(deviations.size(), 3u);
    EXPECT_TRUE(deviations[2].usable);
    EXPECT_NEAR(deviations[2].db[20], 1.5, 1e-12);
    EXPECT_NEAR(deviations[2].db[23], 2.5, 1e-12);
    EXPECT_NEAR(deviations[2].aim_band_db->value, 1.5, 1e-12);
    EXPECT_NEAR(deviations[0].db[20], 0.0, 1e-12);
    EXPECT_GT(deviations[2].u_db[20], 0.1);

    const Reading later = corrected(readings[2], deviations[2], bands);
    EXPECT_NEAR(later.direct_db[23], -20.0, 1e-12);
    EXPECT_NEAR(later.full_db[5], -18.0, 1e-12);
    EXPECT_NEAR(later.aim_band_db->value, -20.0, 1e-9);
    EXPECT_GT(later.aim_band_db->u, readings[2].aim_band_db->u);
    EXPECT_EQ(later.arrival_s, readings[2].arrival_s);
}

TEST(MicMatch, two_mics_share_their_difference) {
    const auto deviations = mic_deviations(std::vector{flat_reading(-20.0), flat_reading(-19.0)}, Bands{});
    EXPECT_NEAR(deviations[0].db[20], -0.5, 1e-12);
    EXPECT_NEAR(deviations[1].db[20], 0.5, 1e-12);
}

TEST(MicMatch, a_mic_that_heard_nothing_is_not_usable_and_leaves_the_others_alone) {
    Reading silent;
    silent.flags.raise(Flag::no_signal);
    const auto deviations = mic_deviations(std::vector{flat_reading(-20.0), silent, flat_reading(-20.0)}, Bands{});
    EXPECT_FALSE(deviations[1].usable);
    EXPECT_TRUE(deviations[0].usable);
    EXPECT_FALSE(mic_deviations(std::vector{flat_reading(-20.0)}, Bands{})[0].usable);
    const Reading same = corrected(flat_reading(-30.0), deviations[1], Bands{});
    EXPECT_EQ(same.aim_band_db->value, -30.0);
}

}  // namespace
}  // namespace proofwalk::signal
