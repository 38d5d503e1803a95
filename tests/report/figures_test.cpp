#include "report/figures.hpp"

#include <gtest/gtest.h>

#include <limits>

#include "report/text_width.hpp"
#include "report/wording.hpp"

namespace proofwalk::report {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr double infinity = std::numeric_limits<double>::infinity();

// JCGM 100:2008, 7.2.6: an uncertainty is quoted to at most two significant digits.
TEST(Figures, CarryNoMoreDigitsThanTheirUncertainty) {
    EXPECT_EQ(with_uncertainty(-4.137, 1.18, "deg"), "\u22124.1 \u00b11.2");
    EXPECT_EQ(with_uncertainty(3.14159, 0.5, "m"), "+3.1 \u00b10.5");
    EXPECT_EQ(with_uncertainty(12.3456, 0.0123, "ms"), "+12.346 \u00b10.012");
    EXPECT_EQ(with_uncertainty(123.456, 42.0, "ms"), "+123 \u00b142");
    EXPECT_EQ(with_uncertainty(-0.0112, 0.0299, "m"), "\u22120.01 \u00b10.03");
    EXPECT_EQ(with_uncertainty(1.0, 1e-9, "m"), "+1.0000 \u00b10.0000");
}

TEST(Figures, WithoutUncertaintyTakeTheUsualDigitsOfTheUnit) {
    EXPECT_EQ(with_uncertainty(1.0, std::nullopt, ""), "+1");
    EXPECT_EQ(with_uncertainty(0.333, std::nullopt, "ms"), "+0.33");
    EXPECT_EQ(with_uncertainty(-6.0, 0.0, "dB"), "\u22126.0");
}

TEST(Figures, NeverShowWhatIsNotANumber) {
    EXPECT_EQ(with_uncertainty(std::nullopt, 1.0, "deg"), no_figure);
    EXPECT_EQ(with_uncertainty(nan, 1.0, "deg"), no_figure);
    EXPECT_EQ(with_uncertainty(infinity, 1.0, "deg"), no_figure);
    EXPECT_EQ(with_uncertainty(1.0, nan, "deg"), "+1.0");
    EXPECT_EQ(with_unit(std::string(no_figure), "deg"), no_figure);
}

TEST(Figures, ZeroHasNoSign) {
    EXPECT_EQ(fixed(-0.04, 1, Sign::always), "0.0");
    EXPECT_EQ(fixed(0.04, 1, Sign::always), "0.0");
    EXPECT_EQ(fixed(-0.06, 1), "\u22120.1");
}

TEST(Figures, NameFrequenciesAsOnAnAxis) {
    EXPECT_EQ(short_hz(31.5), "31.5");
    EXPECT_EQ(short_hz(1250.0), "1.25k");
    EXPECT_EQ(short_hz(16000.0), "16k");
    EXPECT_EQ(band_hz(2000.0, 8000.0), "2\u20138 kHz");
    EXPECT_EQ(band_hz(60.0, 18000.0), "60 Hz\u201318 kHz");
}

TEST(Figures, StandBelowOneAnotherOnTheDecimalPoint) {
    const auto lines = aligned_on_point({"\u22124.1 \u00b11.2\u00b0", "+12.346 \u00b10.012 ms", "+1", "\u2013"});
    EXPECT_EQ(lines[0], " \u22124.1 \u00b11.2\u00b0");
    EXPECT_EQ(lines[1], "+12.346 \u00b10.012 ms");
    EXPECT_EQ(lines[2], " +1");
    EXPECT_EQ(lines[3], "  \u2013");
}

TEST(Wording, SentencesGetTheirRealSigns) {
    EXPECT_EQ(with_real_signs("M is -0.6 dB and R1 (-0.5 dB), 4.1 deg below"), "M is \u22120.6 dB and R1 (\u22120.5 dB), 4.1\u00b0 below");
    EXPECT_EQ(with_real_signs("box M-2 at 3 degrees, on-axis, 5 deg"), "box M-2 at 3 degrees, on-axis, 5\u00b0");
    EXPECT_EQ(sentence_case("tilt up"), "Tilt up");
    EXPECT_EQ(sentence_case(""), "");
}

TEST(TextWidth, CountsCharactersAndNotBytes) {
    EXPECT_EQ(columns_of("\u22124.1 \u00b11.2\u00b0"), 10);
    EXPECT_EQ(columns_of("e\u0301"), 1);
    EXPECT_EQ(columns_of("\u30db\u30fc\u30eb"), 6);
    EXPECT_EQ(columns_of("\xff\xfe"), 2);
}

TEST(TextWidth, CutsAndWrapsOnCharacters) {
    EXPECT_EQ(shortened("B\u00fchne links", 6), "B\u00fchne\u2026");
    EXPECT_EQ(padded("\u00fc", 3, Align::right), "  \u00fc");
    const std::vector<std::string> lines = {"tilt up", "4.1\u00b0,", "then", "aaaaaaaa", "aa"};
    EXPECT_EQ(wrapped("tilt up 4.1\u00b0, then aaaaaaaaaa", 8), lines);
    EXPECT_EQ(wrapped("", 8), std::vector<std::string>{""});
}

TEST(TextWidth, KeepsTerminalsSafeFromNames) {
    EXPECT_EQ(printable("M1\x1b[31m\n"), "M1 [31m ");
    EXPECT_EQ(printable("a\xc3"), "a\ufffd");
    EXPECT_EQ(printable("\xed\xa0\x80"), "\ufffd\ufffd\ufffd");
    EXPECT_EQ(printable("B\u00fchne"), "B\u00fchne");
}

}  // namespace
}  // namespace proofwalk::report
