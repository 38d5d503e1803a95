#include "signal/overlap.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "signal/check_values.hpp"

namespace proofwalk::signal {
namespace {

TEST(Overlap, harmonic_leads) {
    for (const auto& row : test::check_values("C", "harmonic impulse lead"))
        EXPECT_NEAR(harmonic_lead_s(row.input("T"), row.input("f1"), row.input("f2"), static_cast<int>(row.input("n"))), row.value, 2.0 * row.tolerance) << row.inputs;
}

TEST(Overlap, plain_spacing_agrees_with_the_published_rule) {
    // Harmonics that last as long as the response leave no gap to use.
    for (const auto& row : test::check_values("C", "overlapped sweep minimal onset gap")) {
        const auto schedule = overlapped_starts({.circuits = 2, .length_s = row.input("T"), .decay_s = row.input("L1"), .harmonic_decay_s = row.input("L1"),
                                                 .harmonics = static_cast<int>(row.input("K"))});
        ASSERT_TRUE(schedule);
        EXPECT_LE(schedule->starts_s[1], row.value + 1e-6) << row.inputs;
    }
}

TEST(Overlap, twelve_circuits_take_at_most_two_fifths_of_the_time) {
    const auto schedule = overlapped_starts({.circuits = 12, .length_s = 4.0, .decay_s = 1.0, .harmonic_decay_s = 1.0, .harmonics = 3});
    ASSERT_TRUE(schedule);
    EXPECT_EQ(schedule->starts_s.size(), 12u);
    EXPECT_NEAR(schedule->one_after_another_s, 60.0, 1e-9);
    EXPECT_LE(schedule->total_s / schedule->one_after_another_s, 0.40);
}

TEST(Overlap, no_harmonic_meets_a_linear_response) {
    for (const double length_s : {1.0, 4.0, 9.0})
        for (const double decay_s : {0.3, 0.8, 1.5}) {
            const OverlapSettings settings{.circuits = 9, .length_s = length_s, .decay_s = decay_s, .harmonic_decay_s = 0.25, .harmonics = 4};
            const auto schedule = overlapped_starts(settings);
            ASSERT_TRUE(schedule);
            for (const double a : schedule->starts_s)
                for (const double b : schedule->starts_s) {
                    if (a == b) continue;  // a sweep's own harmonics stand where its length puts them
                    EXPECT_GE(std::abs(a - b), decay_s - 1e-6);
                    for (int order = 2; order <= settings.harmonics; ++order) {
                        const double from = b - harmonic_lead_s(length_s, 20.0, 20000.0, order);
                        EXPECT_TRUE(from + 0.25 <= a + 1e-6 || from >= a + decay_s - 1e-6) << length_s << ' ' << decay_s << ' ' << order;
                    }
                }
        }
}

TEST(Overlap, longer_sweeps_interleave_below_the_second_harmonic) {
    const auto schedule = overlapped_starts({.circuits = 2, .length_s = 9.0, .decay_s = 0.4, .harmonic_decay_s = 0.2, .harmonics = 3});
    ASSERT_TRUE(schedule);
    EXPECT_LT(schedule->starts_s[1], 0.41);  // the plain rule would wait 1.83 s
}

TEST(Overlap, is_refused_with_a_reason) {
    EXPECT_FALSE(overlapped_starts({.circuits = 0}));
    EXPECT_FALSE(overlapped_starts({.circuits = 100}));
    EXPECT_FALSE(overlapped_starts({.start_hz = 100.0, .stop_hz = 50.0}));
    EXPECT_FALSE(overlapped_starts({.decay_s = 0.0}));
    EXPECT_FALSE(overlapped_starts({.circuits = 64, .length_s = 60.0, .decay_s = 5.0}));
}

}  // namespace
}  // namespace proofwalk::signal
