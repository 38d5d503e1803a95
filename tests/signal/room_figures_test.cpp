// Weightings, decay and speech index against values from outside (sources stand in the rows).
#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "signal/check_values.hpp"
#include "signal/decay.hpp"
#include "signal/speech.hpp"
#include "signal/weighting.hpp"
#include "units/convert.hpp"

namespace proofwalk::signal {
namespace {

using test::check_values;

double exact_of_nominal(double nominal_hz) { return 1000.0 * std::pow(10.0, std::round(10.0 * std::log10(nominal_hz / 1000.0)) / 10.0); }

TEST(Weighting, agrees_with_the_table_of_the_standard) {
    int rows = 0;
    for (const auto& row : check_values("B", "A-weighting at exact"))
        EXPECT_NEAR(weighting_db(Weighting::a, exact_of_nominal(row.input("nominal f"))), row.value, row.tolerance) << row.inputs << ++rows;
    for (const auto& row : check_values("B", "C-weighting at exact"))
        EXPECT_NEAR(weighting_db(Weighting::c, exact_of_nominal(row.input("nominal f"))), row.value, row.tolerance) << row.inputs;
    EXPECT_EQ(check_values("B", "A-weighting at exact").size(), 34u);
    EXPECT_EQ(weighting_db(Weighting::z, 50.0), 0.0);
}

TEST(Weighting, sums_a_one_kilohertz_band_unchanged_and_refuses_uncalibrated) {
    BandLevels levels;
    levels[17] = 80.0;
    EXPECT_NEAR(weighted_sum_db(levels, Weighting::a), 80.0, 1e-9);
    levels[7] = 100.0;  // 100 Hz
    EXPECT_NEAR(weighted_sum_db(levels, Weighting::a), power_db(power_of_db(80.0) + power_of_db(80.9)), 0.06);
    Reading reading;
    reading.full_db = levels;
    EXPECT_FALSE(sound_pressure_level_db(reading, Weighting::a));
    reading.calibrated = true;
    EXPECT_NEAR(*sound_pressure_level_db(reading, Weighting::z), 100.043, 0.001);
    EXPECT_TRUE(std::isnan(weighted_sum_db(BandLevels{}, Weighting::a)));
}

TEST(Weighting, pressure_levels) {
    for (const auto& row : check_values("K", "SPL of rms pressure")) EXPECT_NEAR(spl_db(row.input("p")), row.value, row.tolerance) << row.inputs;
}

TEST(Weighting, calibrator_drift_has_its_sign) {
    EXPECT_NEAR(calibrator_drift(1.0, 1.0).drift_db, 0.0, 1e-12);
    // The mic became 1 dB more sensitive: fewer pascals per sample value.
    const auto drift = calibrator_drift(1.0, amplitude_of_db(-1.0));
    EXPECT_NEAR(drift.drift_db, 1.0, 1e-9);
    EXPECT_FALSE(drift.acceptable);
    EXPECT_TRUE(calibrator_drift(1.0, 1.02).acceptable);
}

std::vector<float> exponential_decay(double decay_s, double length_s, double noise_db, unsigned seed) {
    const double rate_hz = 8000.0;
    std::vector<float> response(static_cast<std::size_t>(length_s * rate_hz));
    std::mt19937 random(seed);
    std::normal_distribution<double> normal;
    for (std::size_t n = 0; n < response.size(); ++n) {
        const double t = static_cast<double>(n) / rate_hz;
        // Sign flips keep it free of a constant part; the squared response is the exact exponential.
        const double sign = n % 2 == 0 ? 1.0 : -1.0;
        response[n] = static_cast<float>(sign * std::pow(10.0, -3.0 * t / decay_s) + (noise_db < -150.0 ? 0.0 : amplitude_of_db(noise_db) * normal(random)));
    }
    return response;
}

TEST(Decay, pure_exponentials) {
    for (const auto& row : check_values("F", "C50 exponential")) {
        const auto decay = decay_of(exponential_decay(row.input("T"), 3.0 * row.input("T"), -200.0, 1), 8000.0, 0);
        EXPECT_NEAR(*decay.c50_db, row.value, 0.02) << row.inputs;  // tolerance of the row plus half a sample of 8 kHz
    }
    for (const auto& row : check_values("F", "C80 exponential"))
        EXPECT_NEAR(*decay_of(exponential_decay(row.input("T"), 3.0 * row.input("T"), -200.0, 1), 8000.0, 0).c80_db, row.value, 0.02) << row.inputs;
    for (const auto& row : check_values("F", "D50 exponential"))
        EXPECT_NEAR(*decay_of(exponential_decay(row.input("T"), 3.0 * row.input("T"), -200.0, 1), 8000.0, 0).d50, row.value, 0.001) << row.inputs;
    const auto decay = decay_of(exponential_decay(1.0, 3.0, -200.0, 1), 8000.0, 0);
    EXPECT_NEAR(*decay.edt_s, 1.0, 0.005);
    EXPECT_NEAR(*decay.t20_s, 1.0, 0.005);
    EXPECT_NEAR(*decay.t30_s, 1.0, 0.005);
}

TEST(Decay, noise_is_taken_out_where_the_plain_integral_would_be_far_off) {
    // Without compensation the table gives T30 = 2.70 s for this case.
    const auto decay = decay_of(exponential_decay(1.0, 2.0, -48.0, 3), 8000.0, 0);
    ASSERT_TRUE(decay.t30_s && decay.t20_s);
    EXPECT_NEAR(*decay.t20_s, 1.0, 0.02);
    EXPECT_NEAR(*decay.t30_s, 1.0, 0.05);
}

TEST(Decay, says_nothing_without_range) {
    const auto decay = decay_of(exponential_decay(1.0, 2.0, -20.0, 4), 8000.0, 0);
    EXPECT_FALSE(decay.t20_s);
    EXPECT_FALSE(decay.t30_s);
    EXPECT_FALSE(decay_of(std::vector<float>(100, 0.0F), 8000.0, 0).edt_s);
    EXPECT_FALSE(decay_of(std::vector<float>(8000, 0.0F), 8000.0, 0).c50_db);
}

Modulation uniform(double m) {
    Modulation modulation{};
    for (auto& octave : modulation) octave.fill(m);
    return modulation;
}

TEST(Speech, verification_values_of_the_standard) {
    for (const auto& row : check_values("G", "STI for uniform m")) EXPECT_NEAR(speech_transmission_index(uniform(row.input("m"))), row.value, row.tolerance) << row.inputs;
    for (const auto& row : check_values("G", "STI with two adjacent bands")) {
        const auto first = static_cast<std::size_t>(std::strtol(row.inputs.c_str() + 6, nullptr, 10));
        Modulation modulation{};
        modulation[first].fill(1.0);
        modulation[first + 1].fill(1.0);
        EXPECT_NEAR(speech_transmission_index(modulation), row.value, row.tolerance) << row.inputs;
    }
    // One band silent, the rest perfect: 1.036 by the sums, clamped.
    Modulation modulation = uniform(1.0);
    modulation[1].fill(0.0);
    EXPECT_EQ(speech_transmission_index(modulation), 1.0);
    for (const auto& row : check_values("G", "auditory masking")) EXPECT_NEAR(auditory_masking_db(row.input("L")), row.value, row.tolerance) << row.inputs;
}

TEST(Speech, exponential_decays) {
    const auto index_of = [](double decay_s, double noise_factor) {
        Modulation modulation{};
        for (auto& octave : modulation)
            for (std::size_t k = 0; k < modulation_hz.size(); ++k)
                octave[k] = noise_factor / std::hypot(1.0, 2.0 * std::numbers::pi * modulation_hz[k] * decay_s / 13.8);
        return speech_transmission_index(modulation);
    };
    for (const auto& row : check_values("G", "STI exponential decay, no noise")) EXPECT_NEAR(index_of(row.input("T"), 1.0), row.value, row.tolerance) << row.inputs;
    for (const auto& row : check_values("G", "STI exponential decay with noise"))
        EXPECT_NEAR(index_of(row.input("T"), 1.0 / (1.0 + power_of_db(-row.input("SNR")))), row.value, row.tolerance) << row.inputs;
}

TEST(Speech, modulation_of_a_decaying_noise_follows_the_closed_form) {
    Evidence evidence;
    evidence.rate_hz = 48000.0;
    std::mt19937 random(2);
    std::normal_distribution<float> normal;
    evidence.impulse.resize(96000);
    for (std::size_t n = 0; n < evidence.impulse.size(); ++n)
        evidence.impulse[n] = normal(random) * static_cast<float>(std::pow(10.0, -3.0 * static_cast<double>(n) / 48000.0));
    const auto modulation = modulation_of(evidence, 0.0, {});
    EXPECT_NEAR(speech_transmission_index(modulation), 0.588, 0.03);  // 1 s, no noise
}

}  // namespace
}  // namespace proofwalk::signal
