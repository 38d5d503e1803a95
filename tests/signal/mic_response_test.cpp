#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>

#include "signal/measure.hpp"
#include "units/convert.hpp"

namespace proofwalk::signal {
namespace {

TEST(MicResponse, reads_what_makers_and_people_write) {
    const auto same = [](std::string_view text) {
        const auto response = mic_response_from_text(text, "m.txt");
        ASSERT_TRUE(response) << text;
        ASSERT_EQ(response->hz.size(), 3u) << text;
        EXPECT_EQ(response->hz, (std::vector<double>{20.0, 1000.5, 20000.0})) << text;
        EXPECT_EQ(response->db, (std::vector<double>{-1.5, 0.0, 2.25})) << text;
    };
    same("20 -1.5\n1000.5 0\n20000 2.25\n");
    same("# made by hand\n* another\n20\t-1.5\n\n1000.5\t0.0 # middle\n20000\t+2.25");
    same("20;-1,5\r\n1000,5;0\r\n20000;2,25\r\n");
    same("20,-1.5\n1000.5,0.0\n20000.0,2.25\n");
    same("20000 2.25\n20 -1.5\n1000.5 0\n");
    same("Freq[Hz] dB phase\n20 -1.5 0\n1000.5 0 12\n20000 2.25 90\n");
    same("\xEF\xBB\xBF" "20 -1.5\n1000.5 0\n1000.5 0\n20000 2.25\n");
}

TEST(MicResponse, refuses_nonsense_with_its_line) {
    for (const std::string_view text : {"", "# nothing\n", "20 1\n", "20 1\nabc def\n", "20 1\n-5 2\n", "20 1\n1000 nan\n", "20 1\n1000 200\n", "20\n1000\n", "20 1\n1000 2\n1000 5\n", "100 0\n100 0\n", "100 0\n100 0.2\n",
                                        "20 1\n1000 1e999\n"}) {
        const auto response = mic_response_from_text(text, "m.txt");
        ASSERT_FALSE(response) << text;
        EXPECT_NE(sentence(response.error()).find("m.txt"), std::string::npos);
    }
    const auto response = mic_response_from_text("20 1\n30 2\nabc def\n", "m.txt");
    EXPECT_EQ(response.error().place, "line 3");
}

std::vector<float> tone(double hz, double amplitude, double noise_rms) {
    std::vector<float> samples(96000);
    std::mt19937 random(1);
    std::normal_distribution<double> normal;
    for (std::size_t n = 0; n < samples.size(); ++n)
        samples[n] = static_cast<float>(amplitude * std::sin(2.0 * std::numbers::pi * hz * static_cast<double>(n) / 48000.0) + noise_rms * normal(random));
    return samples;
}

TEST(Calibrator, gives_pascals_per_sample_value) {
    // 94 dB is 1.002374 Pa rms; a sine of amplitude 0.1 has an rms of 0.0707.
    for (const double hz : {990.0, 1000.0, 1007.3})
        EXPECT_NEAR(*pascal_per_fs_from_calibrator(tone(hz, 0.1, 1e-4), 48000.0, 94.0), 1.002374 / (0.1 / std::numbers::sqrt2), 0.003) << hz;
    EXPECT_NEAR(*pascal_per_fs_from_calibrator(tone(1000.0, 0.1, 1e-4), 48000.0, 114.0), 10.02374 / (0.1 / std::numbers::sqrt2), 0.03);
}

TEST(Calibrator, is_refused_where_it_would_mislead) {
    EXPECT_FALSE(pascal_per_fs_from_calibrator(tone(500.0, 0.1, 1e-4), 48000.0, 94.0));
    EXPECT_FALSE(pascal_per_fs_from_calibrator(tone(1000.0, 0.1, 0.05), 48000.0, 94.0));
    EXPECT_FALSE(pascal_per_fs_from_calibrator(tone(1000.0, 0.1, 1e-4), 48000.0, 30.0));
    auto clipped = tone(1000.0, 1.5, 0.0);
    for (float& s : clipped) s = std::clamp(s, -1.0F, 1.0F);
    EXPECT_FALSE(pascal_per_fs_from_calibrator(clipped, 48000.0, 94.0));
    EXPECT_FALSE(pascal_per_fs_from_calibrator(std::vector<float>(100, 0.1F), 48000.0, 94.0));
    EXPECT_FALSE(pascal_per_fs_from_calibrator(std::vector<float>(96000, 0.0F), 48000.0, 94.0));
}

TEST(BandLevels, a_sine_reads_its_level_in_its_band) {
    const auto levels = band_levels_dbfs(tone(1000.0, amplitude_of_db(-20.0), 0.0), 48000.0);
    EXPECT_NEAR(levels[17], -20.0, 0.01);
    EXPECT_LT(levels[12], -80.0);
}

}  // namespace
}  // namespace proofwalk::signal
