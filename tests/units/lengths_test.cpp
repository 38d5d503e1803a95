#include "units/lengths.hpp"

#include <random>

#include <gtest/gtest.h>

namespace proofwalk {
namespace {

double read(const char* text, LengthUnit bare = LengthUnit::metres) {
    const auto found = length_from_text(text, bare);
    EXPECT_TRUE(found) << text;
    return found.value_or(-999.0);
}

TEST(Lengths, AreReadAsPeopleWriteThem) {
    EXPECT_DOUBLE_EQ(read("3.5"), 3.5);
    EXPECT_DOUBLE_EQ(read("3.5", LengthUnit::feet), 3.5 * 0.3048);
    EXPECT_DOUBLE_EQ(read(" 350 cm "), 3.5);
    EXPECT_DOUBLE_EQ(read("3500mm"), 3.5);
    EXPECT_DOUBLE_EQ(read("3.5m", LengthUnit::feet), 3.5);
    EXPECT_DOUBLE_EQ(read("12'"), 3.6576);
    EXPECT_DOUBLE_EQ(read("12' 6\""), 3.81);
    EXPECT_DOUBLE_EQ(read("12ft 6.5in"), 12 * 0.3048 + 6.5 * 0.0254);
    EXPECT_DOUBLE_EQ(read("12' 6 1/2\""), 12 * 0.3048 + 6.5 * 0.0254);
    EXPECT_DOUBLE_EQ(read("1/2 in"), 0.0127);
    EXPECT_DOUBLE_EQ(read("-3' 3\""), -(3.25 * 0.3048));
    for (const char* bad : {"", "m", "3.5x", "12' 6", "12 6", "nan", "inf", "1/0 in", "3..5", "--3", "12\" 6'", "1e3", "9999999999999999999999999999999e999"})
        EXPECT_FALSE(length_from_text(bad, LengthUnit::metres)) << bad;
}

TEST(Lengths, ArePrintedToTheCentimetreOrQuarterInch) {
    EXPECT_EQ(length_text(10.364, LengthUnit::metres), "10.36 m");
    EXPECT_EQ(length_text(3.81, LengthUnit::feet), "12' 6\"");
    EXPECT_EQ(length_text(3.8163, LengthUnit::feet), "12' 6 1/4\"");
    EXPECT_EQ(length_text(-0.0762, LengthUnit::feet), "-0' 3\"");
    EXPECT_EQ(length_text(0.3047, LengthUnit::feet), "1' 0\"");
    std::mt19937 random(3);
    std::uniform_real_distribution<double> metres(-100.0, 100.0);
    for (int i = 0; i < 1000; ++i) {
        const double value = metres(random);
        const auto back = length_from_text(length_text(value, LengthUnit::feet), LengthUnit::metres);
        ASSERT_TRUE(back);
        EXPECT_NEAR(*back, value, 0.0254 / 8.0 + 1e-9);
    }
}

}  // namespace
}  // namespace proofwalk
