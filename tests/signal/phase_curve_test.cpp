// Phase against closed forms: a pure delay, an inverted one, a first-order all-pass, and noise of a known level.
#include "signal/phase_curve.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>

namespace proofwalk::signal {
namespace {

constexpr double pi = std::numbers::pi;
constexpr double rate_hz = 48000.0;
constexpr std::size_t length = 9600, arrival = 1200;

// An impulse of this size at the arrival; the reading says so.
Evidence impulse(float size) {
    Evidence evidence;
    evidence.rate_hz = rate_hz;
    evidence.first_s = -0.01;
    evidence.latency_s = 0.0005;
    evidence.impulse.assign(length, 0.0F);
    evidence.impulse[arrival] = size;
    for (std::size_t band = 0; band < band_count; ++band) evidence.noise_impulse_db[band] = -60.0;
    return evidence;
}

Reading reading_of(const Evidence& evidence, double late_s = 0.0) {
    Reading reading;
    reading.arrival_s = Measured{static_cast<double>(arrival) / rate_hz + evidence.first_s - evidence.latency_s + late_s, 1e-5};
    reading.gate_s = 0.02;
    reading.gate_resolves_from_hz = 200.0;
    return reading;
}

double off_deg(double deg, double expected_deg) { return std::remainder(deg - expected_deg, 360.0); }

TEST(PhaseCurve, of_a_pure_delay_is_zero) {
    const Evidence evidence = impulse(0.5F);
    const PhaseCurve curve = phase_curve(evidence, reading_of(evidence), 12.0);
    ASSERT_GT(curve.hz.size(), 200U);
    for (std::size_t i = 0; i < curve.hz.size(); ++i) EXPECT_NEAR(curve.deg[i], 0.0, 0.05) << curve.hz[i];
}

TEST(PhaseCurve, of_an_inverted_delay_is_180) {
    const Evidence evidence = impulse(-0.5F);
    const PhaseCurve curve = phase_curve(evidence, reading_of(evidence), 12.0);
    ASSERT_FALSE(curve.hz.empty());
    for (std::size_t i = 0; i < curve.hz.size(); ++i) {
        EXPECT_NEAR(off_deg(curve.deg[i], 180.0), 0.0, 0.05) << curve.hz[i];
        EXPECT_LE(curve.deg[i], 180.0);
        EXPECT_GT(curve.deg[i], -180.0);
    }
}

// A sound that comes later than its arrival says turns by 360 f t.
TEST(PhaseCurve, turns_with_the_delay_that_is_left) {
    const Evidence evidence = impulse(1.0F);
    const double late_s = 1e-4;
    const PhaseCurve curve = phase_curve(evidence, reading_of(evidence, -late_s), 24.0);
    for (std::size_t i = 0; i < curve.hz.size(); ++i)
        EXPECT_NEAR(off_deg(curve.deg[i], -360.0 * curve.hz[i] * late_s), 0.0, 2.0) << curve.hz[i];
}

// First-order all-pass in the bilinear form, whose angle is -2 atan(tan(pi f / rate) / tan(pi f0 / rate)): exact for the
// sampled filter, and -2 atan(f / f0) below a tenth of the rate.
TEST(PhaseCurve, of_a_first_order_all_pass_follows_its_closed_form) {
    const double f0 = 1000.0, t = std::tan(pi * f0 / rate_hz), a = (t - 1.0) / (t + 1.0);
    Evidence evidence = impulse(0.0F);
    double before_in = 0.0, before_out = 0.0;
    for (std::size_t n = arrival; n < length; ++n) {
        const double in = n == arrival ? 1.0 : 0.0;
        const double out = a * in + before_in - a * before_out;
        evidence.impulse[n] = static_cast<float>(out);
        before_in = in, before_out = out;
    }
    const PhaseCurve curve = phase_curve(evidence, reading_of(evidence), 24.0);
    ASSERT_FALSE(curve.hz.empty());
    for (std::size_t i = 0; i < curve.hz.size(); ++i) {
        const double exact = -360.0 / pi * std::atan(std::tan(pi * curve.hz[i] / rate_hz) / t);
        EXPECT_NEAR(off_deg(curve.deg[i], exact), 0.0, 0.5) << curve.hz[i];
        if (curve.hz[i] < 2000.0) { EXPECT_NEAR(off_deg(curve.deg[i], -360.0 / pi * std::atan(curve.hz[i] / f0)), 0.0, 1.0) << curve.hz[i]; }
    }
}

// The told uncertainty is what noise of the told density does: the scatter over many draws.
TEST(PhaseCurve, tells_the_scatter_that_noise_makes) {
    const double rms = 2e-4;
    std::mt19937 random(7);
    std::normal_distribution<double> normal;
    std::vector<double> squares;
    PhaseCurve told;
    constexpr int draws = 60;
    for (int draw = 0; draw < draws; ++draw) {
        Evidence evidence = impulse(1.0F);
        for (float& sample : evidence.impulse) sample += static_cast<float>(rms * normal(random));
        // White noise in a response: each line's expected |N|^2 is rms^2 a sample; the scale of band levels is a mean of it.
        for (std::size_t band = 0; band < band_count; ++band) evidence.noise_impulse_db[band] = 10.0 * std::log10(rms * rms * rate_hz);
        told = phase_curve(evidence, reading_of(evidence), 3.0);
        squares.resize(told.hz.size());
        for (std::size_t i = 0; i < told.hz.size(); ++i) squares[i] += told.deg[i] * told.deg[i] / draws;
    }
    ASSERT_FALSE(told.hz.empty());
    for (std::size_t i = 0; i < told.hz.size(); ++i) {
        const double ratio = std::sqrt(squares[i]) / told.u_deg[i];
        EXPECT_GT(ratio, 0.5) << told.hz[i];
        EXPECT_LT(ratio, 1.6) << told.hz[i];
    }
}

TEST(PhaseCurve, says_nothing_of_what_was_not_heard) {
    const Evidence evidence = impulse(1.0F);
    EXPECT_TRUE(phase_curve(evidence, Reading{}, 6.0).hz.empty());
    EXPECT_TRUE(phase_curve(Evidence{}, reading_of(evidence), 6.0).hz.empty());
    EXPECT_TRUE(phase_curve(evidence, reading_of(evidence), 0.0).hz.empty());
    Evidence unknown = evidence;
    unknown.noise_impulse_db = {};
    for (const double u : phase_curve(unknown, reading_of(unknown), 6.0).u_deg) EXPECT_NEAR(u, 103.9, 0.1);
}

}  // namespace
}  // namespace proofwalk::signal
