// The room's own air against published values.

#include <gtest/gtest.h>

#include <cmath>

#include "rehearsal/room_air.hpp"

namespace proofwalk::rehearsal {
namespace {

struct Printed {
    double temperature_c, humidity_pct, octave_from_1k, db_per_km;
};
// ISO 9613-1:1993 table 1 as transcribed in public, exact midbands; printed to three digits.
constexpr Printed printed[] = {{10, 70, 0, 3.66}, {10, 50, 2, 46.7}, {10, 70, 2, 32.8}, {15, 50, 0, 4.16},
                               {20, 50, 0, 4.66}, {20, 50, 1, 9.86}, {20, 10, 2, 109.0}, {20, 100, 2, 19.4},
                               {30, 50, 2, 24.5}, {0, 20, 1, 34.6},  {-20, 70, 3, 27.8}, {50, 70, 3, 80.3}};

TEST(RoomAir, AbsorptionMeetsThePrintedTable) {
    for (const Printed& row : printed) {
        const RoomAir air({row.temperature_c, row.humidity_pct, 101.325});
        const double midband_hz = 1000.0 * std::pow(10.0, 0.3 * row.octave_from_1k);
        EXPECT_NEAR(1000.0 * air.absorption_db_per_m(midband_hz), row.db_per_km, 0.006 * row.db_per_km)
            << row.temperature_c << " C, " << row.humidity_pct << " %";
    }
}

TEST(RoomAir, SpeedMeetsCramersCurve) {
    // Points read off figure 1 of Cramer 1993 (0.15 m/s), by another hand; the room's ideal gas is no polynomial.
    EXPECT_NEAR(RoomAir({20.0, 0.8, 101.325}).speed_mps(), 343.33, 0.25);
    EXPECT_NEAR(RoomAir({20.0, 60.2, 101.325}).speed_mps(), 344.17, 0.25);
    EXPECT_NEAR(RoomAir({20.0, 98.7, 101.325}).speed_mps(), 344.68, 0.25);
    EXPECT_NEAR(RoomAir({10.0, 30.3, 101.325}).speed_mps(), 337.70, 0.25);
}

}  // namespace
}  // namespace proofwalk::rehearsal
