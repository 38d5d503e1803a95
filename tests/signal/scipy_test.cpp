// Agreement with scipy.signal: stored values (tests/reference/signal_reference.txt), and live where python3-scipy is installed.
#include <gtest/gtest.h>

#include <cmath>
#include <cstdint>
#include <cstdio>
#include <fstream>
#include <map>
#include <sstream>
#include <string>

#include "signal/dual_channel.hpp"
#include "signal/fft.hpp"

namespace proofwalk::signal {
namespace {

constexpr std::size_t count = 32768;

std::vector<float> generator(std::uint64_t seed) {
    std::vector<float> values(count);
    for (float& value : values) {
        seed = seed * 6364136223846793005ull + 1442695040888963407ull;
        value = static_cast<float>(static_cast<double>(seed >> 40) / 8388608.0 - 1.0);
    }
    return values;
}

std::map<std::string, double> ours() {
    const auto x = generator(1), noise = generator(2);
    std::vector<double> sum(count, 0.0);
    const auto add = [&](std::size_t delay, double gain) {
        for (std::size_t n = delay; n < count; ++n) sum[n] += gain * static_cast<double>(x[n - delay]);
    };
    add(7, 0.5);
    add(9, -0.25);
    add(10, 0.125);
    std::vector<float> y(count);
    for (std::size_t n = 0; n < count; ++n) y[n] = static_cast<float>(sum[n] + 0.1 * static_cast<double>(noise[n]));

    std::map<std::string, double> values;
    const std::vector<std::span<const float>> mics = {y};
    const auto channel = (*dual_channel(x, mics, 48000.0, {.block = 1024, .delay_samples = 0}))[0];
    for (const std::size_t line : {5u, 50u, 200u, 400u, 500u}) {
        values["h1_re_" + std::to_string(line)] = static_cast<double>(channel.h1[line].real());
        values["h1_im_" + std::to_string(line)] = static_cast<double>(channel.h1[line].imag());
        values["coherence_" + std::to_string(line)] = static_cast<double>(channel.coherence[line]);
    }
    const RealFft fft(count);
    const Spectrum spectrum_x = fft.forward(x);
    Spectrum spectrum_y = fft.forward(y);
    double mean = 0.0;
    for (const auto& line : spectrum_x) mean += static_cast<double>(std::norm(line)) / static_cast<double>(fft.bins());
    for (std::size_t bin = 0; bin < fft.bins(); ++bin)
        spectrum_y[bin] *= std::conj(spectrum_x[bin]) / (std::norm(spectrum_x[bin]) + static_cast<float>(1e-3 * mean));
    const auto response = fft.inverse(spectrum_y);
    for (const std::size_t tap : {0u, 7u, 9u, 10u, 100u}) values["tap_" + std::to_string(tap)] = static_cast<double>(response[tap]);
    return values;
}

void agree(std::istream& lines) {
    const auto values = ours();
    std::string name;
    double value = 0.0;
    std::size_t compared = 0;
    while (lines >> name >> value) {
        ASSERT_TRUE(values.contains(name)) << name;
        // 1e-4 of the larger of the value and a tenth: small parts of a complex value have the size of the whole.
        EXPECT_NEAR(values.at(name), value, 1e-4 * std::max(std::abs(value), 0.1)) << name;
        ++compared;
    }
    EXPECT_EQ(compared, 20u);
}

TEST(Scipy, stored_values) {
    std::ifstream file(PROOFWALK_SOURCE_DIR "/tests/reference/signal_reference.txt");
    agree(file);
}

TEST(Scipy, live) {
    std::FILE* const pipe = popen("/usr/bin/python3 '" PROOFWALK_SOURCE_DIR "/tests/reference/signal_reference.py' 2>/dev/null", "r");
    ASSERT_NE(pipe, nullptr);
    std::string text;
    char part[256];
    while (std::fgets(part, sizeof part, pipe) != nullptr) text += part;
    if (pclose(pipe) != 0) GTEST_SKIP() << "python3-scipy is not installed";
    std::istringstream lines(text);
    agree(lines);
}

}  // namespace
}  // namespace proofwalk::signal
