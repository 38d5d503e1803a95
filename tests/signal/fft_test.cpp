#include "signal/fft.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>
#include <thread>

#include "signal/fft_lanes.hpp"

namespace proofwalk::signal {
namespace {

std::vector<float> noise(std::size_t count, unsigned seed) {
    std::mt19937 random(seed);
    std::normal_distribution<float> normal;
    std::vector<float> samples(count);
    for (float& sample : samples) sample = normal(random);
    return samples;
}

// One line by the definition, in double.
std::complex<double> direct_sum(const std::vector<float>& time, std::size_t line) {
    std::complex<double> sum;
    for (std::size_t n = 0; n < time.size(); ++n)
        sum += static_cast<double>(time[n]) * std::polar(1.0, -2.0 * std::numbers::pi * static_cast<double>((n * line) % time.size()) / static_cast<double>(time.size()));
    return sum;
}

class EverySize : public testing::TestWithParam<std::size_t> {};

TEST_P(EverySize, agrees_with_the_definition_and_inverts) {
    const std::size_t size = GetParam();
    const auto time = noise(size, static_cast<unsigned>(size));
    const RealFft fft(size);
    const Spectrum spectrum = fft.forward(time);
    const double scale = std::sqrt(static_cast<double>(size));
    const std::size_t step = std::max<std::size_t>(1, fft.bins() / 23);
    for (std::size_t line = 0; line < fft.bins(); line += step)
        EXPECT_LT(std::abs(std::complex<double>(spectrum[line]) - direct_sum(time, line)) / scale, 2e-6) << "line " << line;
    EXPECT_LT(std::abs(std::complex<double>(spectrum.back()) - direct_sum(time, fft.bins() - 1)) / scale, 2e-6);
    const auto back = fft.inverse(spectrum);
    double worst = 0.0;
    for (std::size_t n = 0; n < size; ++n) worst = std::max(worst, static_cast<double>(std::abs(back[n] - time[n])));
    EXPECT_LT(worst, 5e-6);
    std::vector<float> real(size), imaginary(size);
    fft.analytic(spectrum, real, imaginary);
    Spectrum turned = spectrum;
    for (auto& line : turned) line *= std::complex<float>(0.0F, -1.0F);
    turned.front() = turned.back() = 0.0F;
    const auto quadrature = fft.inverse(turned);
    for (std::size_t n = 0; n < size; ++n) {
        ASSERT_NEAR(static_cast<double>(real[n]), static_cast<double>(time[n]), 5e-6);
        ASSERT_NEAR(static_cast<double>(imaginary[n]), static_cast<double>(quadrature[n]), 5e-6);
    }
}

// Small and plain, other primes, and every mix of radices in the lanes, even and odd numbers of stages.
INSTANTIATE_TEST_SUITE_P(Fft, EverySize,
                         testing::Values(2, 4, 6, 30, 64, 254, 1000, 2048, 4096, 4098, 4100, 4480, 5120, 6144, 7680, 8192, 9600, 12800, 16384, 19200, 25600, 28800, 38400, 65536,
                                         76800, 96000, 131072));

TEST(Fft, portable_and_wide_lanes_agree) {
#if defined(__x86_64__)
    if (!__builtin_cpu_supports("avx2") || !__builtin_cpu_supports("fma")) GTEST_SKIP() << "this processor has no AVX2";
#endif
    // A plan of 8 x 8 by hand: both lengths radix 4 then 2.
    using namespace lanes;
    std::vector<std::vector<float>> factors;
    ShortPlan eight;
    eight.length = 8;
    eight.stages = 2;
    eight.radix[0] = 4;
    eight.radix[1] = 2;
    for (const std::size_t radix : {std::size_t{4}, std::size_t{2}}) {
        const std::size_t left = radix == 4 ? 8 : 2, count = left / radix;
        std::vector<float> w;
        for (std::size_t k = 0; k < count; ++k)
            for (std::size_t i = 1; i < radix; ++i) {
                const double angle = -2.0 * std::numbers::pi * static_cast<double>(i * k) / static_cast<double>(left);
                w.push_back(static_cast<float>(std::cos(angle)));
                w.push_back(static_cast<float>(std::sin(angle)));
            }
        factors.push_back(w);
    }
    eight.factors[0] = factors[0].data();
    eight.factors[1] = factors[1].data();
    std::vector<float> turns(128);
    for (std::size_t n2 = 0; n2 < 8; ++n2)
        for (std::size_t k1 = 0; k1 < 8; ++k1) {
            const double angle = -2.0 * std::numbers::pi * static_cast<double>(n2 * k1) / 64.0;
            turns[k1 * 16 + n2] = static_cast<float>(std::cos(angle));
            turns[k1 * 16 + 8 + n2] = static_cast<float>(std::sin(angle));
        }
    const Plan plan{8, 8, eight, eight, turns.data()};
    const auto input = noise(128, 9);
    std::vector<float> a(128), b(128), turned(128), scratch(6 * 64 + 16);
    portable.transform(plan, input.data(), nullptr, 2, a.data(), a.data() + 64, turned.data(), turned.data() + 64, scratch.data());
    wide.transform(plan, input.data(), nullptr, 2, b.data(), b.data() + 64, turned.data(), turned.data() + 64, scratch.data());
    for (std::size_t k = 0; k < 64; ++k) {
        std::complex<double> sum;
        for (std::size_t n = 0; n < 64; ++n)
            sum += std::complex<double>(static_cast<double>(input[2 * n]), static_cast<double>(input[2 * n + 1])) *
                   std::polar(1.0, -2.0 * std::numbers::pi * static_cast<double>(n * k) / 64.0);
        EXPECT_NEAR(static_cast<double>(a[k]), sum.real(), 1e-5);
        EXPECT_NEAR(static_cast<double>(b[64 + k]), sum.imag(), 1e-5);
        EXPECT_NEAR(static_cast<double>(a[k]), static_cast<double>(b[k]), 1e-5);
    }
}

TEST(Fft, shorter_input_is_padded_and_threads_share_a_size) {
    const auto time = noise(10000, 3);
    auto padded = time;
    padded.resize(19200, 0.0F);
    const RealFft fft(19200);
    const Spectrum expected = fft.forward(padded);
    Spectrum first, second;
    std::thread one([&] { first = fft.forward(time); }), two([&] { second = fft.forward(time); });
    one.join();
    two.join();
    EXPECT_EQ(first, expected);
    EXPECT_EQ(second, expected);
}

TEST(Fft, fast_sizes_are_large_enough_even_and_smooth) {
    for (std::size_t least : {1u, 7u, 100u, 4095u, 4097u, 100001u, 384000u, 1000003u}) {
        std::size_t size = fast_size(least);
        EXPECT_GE(size, least);
        EXPECT_LE(size, std::max<std::size_t>(2 * least, 2));
        EXPECT_EQ(size % 2, 0u);
        for (const std::size_t prime : {std::size_t{2}, std::size_t{3}, std::size_t{5}})
            while (size % prime == 0) size /= prime;
        EXPECT_EQ(size, 1u);
    }
    EXPECT_EQ(fast_size(384000), 384000u);
}

}  // namespace
}  // namespace proofwalk::signal
