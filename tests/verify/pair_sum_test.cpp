// Two sources together. Sums of two equal levels by phase: 0, 60, 90, 120, 150 degrees give 6.021, 4.771, 3.010, 0.000 and
// -5.719 dB over one (two-phasor sum, 20 lg(2 cos(phase / 2))).
#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "verify/pair_sum.hpp"
#include "verify/two_boxes.hpp"

namespace proofwalk::verify {
namespace {

signal::Reading flat(double db, double arrival_s, int polarity) {
    signal::Reading reading;
    reading.arrival_s = Measured{arrival_s, 1e-5};
    reading.polarity = polarity;
    reading.gate_s = 0.005;
    reading.gate_resolves_from_hz = 400.0;
    for (std::size_t band = 0; band < band_count; ++band) reading.direct_db[band] = db;
    return reading;
}

TEST(PairSum, EqualLevelsAddByTheirPhase) {
    const std::size_t band = 14;  // 500 Hz
    for (const auto& [degrees_apart, over_one_db] : std::vector<std::pair<double, double>>{{0.0, 6.021}, {60.0, 4.771}, {90.0, 3.010}, {120.0, 0.0}}) {
        const double middle_hz = 0.5 * (lower_edge_hz(band) + upper_edge_hz(band));
        const auto sum = pair_sum(flat(-20.0, 0.02, 1), flat(-20.0, 0.02 + degrees_apart / 360.0 / middle_hz, 1), flat(-20.0, 0.02, 1));
        ASSERT_TRUE(sum.has_value());
        const auto at = std::ranges::find(sum->bands, band, &SumBand::band);
        ASSERT_NE(at, sum->bands.end());
        EXPECT_NEAR(at->predicted_db, -20.0 + over_one_db, 0.15) << degrees_apart;
    }
}

TEST(PairSum, ASumThatIsMissingNamesThePolarity) {
    const auto good = pair_sum(flat(-20.0, 0.02, 1), flat(-20.0, 0.02, 1), flat(-14.0, 0.02, 1));
    ASSERT_TRUE(good.has_value());
    EXPECT_TRUE(good->as_predicted());
    const auto bad = pair_sum(flat(-20.0, 0.02, 1), flat(-20.0, 0.02, 1), flat(-45.0, 0.02, 1));
    ASSERT_TRUE(bad.has_value());
    EXPECT_TRUE(bad->other_polarity());
    EXPECT_FALSE(bad->as_predicted());
}

TEST(PairSum, SaysNothingWithoutBandsOrWithinNoGate) {
    EXPECT_FALSE(pair_sum(flat(-20.0, 0.02, 1), flat(-20.0, 0.03, 1), flat(-20.0, 0.02, 1)).has_value());
    signal::Reading coarse = flat(-20.0, 0.02, 1);
    coarse.gate_resolves_from_hz = 20000.0;
    EXPECT_FALSE(pair_sum(coarse, flat(-20.0, 0.02, 1), flat(-20.0, 0.02, 1)).has_value());
}

TEST(PairSum, TheAlignmentTellsTheSumThatWasTaken) {
    Input input = heard({});
    const auto at_crossover = [&](const char* circuit) {
        return std::ranges::find_if(input.readings, [&](const TakenReading& taken) { return taken.circuit == circuit && taken.position == "x"; })->reading;
    };
    signal::Reading both = at_crossover("A");
    const signal::Reading one = both, other = at_crossover("B");
    both.gate_s = 0.005;
    for (std::size_t band = 0; band < band_count; ++band) both.direct_db[band] = one.direct_db[band] + 6.02;
    input.readings.push_back({"t-both", "A+B", "m-x", "x", both});
    EXPECT_THAT(of(judge(input), CheckKind::alignment, "A+B").says, testing::HasSubstr("both together sound as predicted"));
    for (std::size_t band = 0; band < band_count; ++band) input.readings.back().reading.direct_db[band] -= 20.0;
    EXPECT_THAT(of(judge(input), CheckKind::alignment, "A+B").says, testing::HasSubstr("as if one of them were inverted"));
}

}  // namespace
}  // namespace proofwalk::verify
