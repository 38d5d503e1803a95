// Arrivals on measured responses from outside: the head-related impulse responses of a dummy head (MIT KEMAR, Gardner and
// Martin 1994) that Debian's libmysofa carries. From the front and half to the side the delay between the ears follows
// Woodworth's a/c (angle + sin angle) with a = 8.75 cm (1938; formula from memory). From the side the far ear lies in the
// shadow: there published figures run from 0.60 ms (first onset) to 0.85 ms (main excursion; Kuhn, JASA 62, 157, 1977,
// from memory), and ours, which is not drawn to an onset 20 dB below what follows, may be 0.05 ms later still.
#include <gtest/gtest.h>
#include <mysofa.h>

#include <array>
#include <cmath>
#include <filesystem>
#include <memory>
#include <vector>

#include "signal/evidence.hpp"
#include "units/convert.hpp"

namespace proofwalk::signal {
namespace {

const std::filesystem::path file = "/usr/share/libmysofa/MIT_KEMAR_normal_pinna.sofa";
constexpr float rate_hz = 48000.0F;

struct Close {
    void operator()(MYSOFA_EASY* easy) const { mysofa_close(easy); }
};

double arrival_s(const std::vector<float>& response, float delay_s) {
    Evidence evidence;
    evidence.rate_hz = rate_hz;
    // Half a second of quiet after it and 20 ms before, as a take has.
    const std::size_t before = 960;
    evidence.first_s = -static_cast<double>(before) / rate_hz;
    evidence.impulse.assign(before + response.size() + 24000, 0.0F);
    std::copy(response.begin(), response.end(), evidence.impulse.begin() + before);
    for (std::size_t band = 0; band < band_count; ++band) {
        evidence.noise_db[band] = -90.0;
        evidence.noise_impulse_db[band] = -90.0;
    }
    const Reading reading = read(evidence, {});
    EXPECT_TRUE(reading.arrival_s);
    return reading.arrival_s ? reading.arrival_s->value + static_cast<double>(delay_s) : 0.0;
}

// Arrival at the left ear less that at the right one; azimuth towards the left.
double between_ears_s(MYSOFA_EASY* easy, int length, float azimuth_deg) {
    std::array<float, 3> direction = {azimuth_deg, 0.0F, 1.0F};
    mysofa_s2c(direction.data());
    std::vector<float> left(static_cast<std::size_t>(length)), right(static_cast<std::size_t>(length));
    float delay_left = 0.0F, delay_right = 0.0F;
    mysofa_getfilter_float(easy, direction[0], direction[1], direction[2], left.data(), right.data(), &delay_left, &delay_right);
    return arrival_s(left, delay_left) - arrival_s(right, delay_right);
}

TEST(HeadRelated, InterauralDelayLiesInThePublishedRange) {
    if (!std::filesystem::exists(file)) GTEST_SKIP() << "no measured head-related responses on this machine (" << file << ")";
    int length = 0, error = 0;
    const std::unique_ptr<MYSOFA_EASY, Close> easy{mysofa_open(file.c_str(), rate_hz, &length, &error)};
    ASSERT_NE(easy, nullptr) << "libmysofa says " << error;
    const double from_left = between_ears_s(easy.get(), length, 90.0F);
    EXPECT_LT(from_left, -0.60e-3);
    EXPECT_GT(from_left, -0.90e-3);
    EXPECT_NEAR(between_ears_s(easy.get(), length, -90.0F), -from_left, 0.06e-3) << "the head is nearly symmetrical";
    constexpr double radius_over_speed_s = 0.0875 / 343.2;
    for (const float azimuth_deg : {15.0F, 30.0F}) {
        const double angle = radians(static_cast<double>(azimuth_deg));
        EXPECT_NEAR(between_ears_s(easy.get(), length, azimuth_deg), -radius_over_speed_s * (angle + std::sin(angle)), 0.06e-3)
            << azimuth_deg << " degrees";
    }
    EXPECT_NEAR(between_ears_s(easy.get(), length, 0.0F), 0.0, 0.06e-3) << "from the front both ears hear it together";
}

}  // namespace
}  // namespace proofwalk::signal
