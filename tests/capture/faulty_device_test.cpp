#include <gmock/gmock.h>

#include <cmath>
#include <numbers>

#include "capture/damage.hpp"
#include "capture/faulty_device.hpp"
#include "signal/excitation.hpp"
#include "signal/measure.hpp"
#include "signal/resample.hpp"

namespace proofwalk::capture {
namespace {

using testing::HasSubstr;

// A sound device: what is played comes back on input 1, and 240 samples later at half level on input 2.
class StraightDevice final : public Device {
public:
    [[nodiscard]] DeviceInfo info() const override { return {"straight", "test", 2, 1, 48000.0}; }
    [[nodiscard]] Result<Recording> run(const PlayRequest& request, const std::function<void(const Progress&)>&,
                                        const std::atomic<bool>&) override {
        Recording take;
        take.sheet = request.sheet;
        take.rate_hz = request.rate_hz;
        take.played = request.played;
        const auto length = static_cast<std::size_t>(request.seconds * request.rate_hz);
        take.channels.assign(2, std::vector<float>(length, 0.0f));
        unsigned state = 99;
        for (std::size_t n = 0; n < length; ++n) {
            state = state * 1664525u + 1013904223u;
            const float hiss = 1e-5f * (static_cast<float>(state >> 8) / 8388608.0f - 1.0f);
            take.channels[0][n] = n < request.played.size() ? request.played[n] : 0.0f;
            take.channels[1][n] = hiss + (n >= 240 && n - 240 < request.played.size() ? 0.5f * request.played[n - 240] : 0.0f);
        }
        return take;
    }
};

class FaultyDevice : public testing::Test {
protected:
    void SetUp() override {
        signal::SweepSettings settings;
        settings.length_s = 1.5;
        request.played = *signal::exponential_sweep(settings);
        request.outputs.push_back({1, request.played});
        request.inputs = 2;
        request.seconds = 2.0;
        request.sheet.label = "t";
        request.sheet.reference = 1;
        request.sheet.mics = {{2, "m1", "p1"}};
    }
    [[nodiscard]] static std::string told(const Recording& take) {
        std::string text;
        for (const auto& fault : take.channel_faults) text += sentence(fault) + "\n";
        return text;
    }
    [[nodiscard]] static std::vector<signal::Evidence> measured(const Recording& take) {
        signal::Samples samples;
        samples.reference = take.channels[0];
        samples.mics.push_back({take.channels[1], {}, {}, 0.0});
        samples.device_lost_samples = take.lost_samples;
        auto evidence = signal::measure(samples, signal::Bands{});
        EXPECT_TRUE(evidence.has_value());
        return evidence ? evidence->front() : std::vector<signal::Evidence>{};
    }
    std::unique_ptr<Device> troubled(DeviceTrouble trouble) { return with_trouble(std::make_unique<StraightDevice>(), trouble, 7); }
    PlayRequest request;
    std::atomic<bool> stop{false};
};

TEST_F(FaultyDevice, WordsGoBothWays) {
    for (const auto trouble : {DeviceTrouble::dropping, DeviceTrouble::clipping, DeviceTrouble::drifting, DeviceTrouble::dying})
        EXPECT_EQ(device_trouble_from_word(word(trouble)), trouble);
    EXPECT_EQ(device_trouble_from_word("humming"), std::nullopt);
    EXPECT_EQ(troubled(DeviceTrouble::dying)->info().name, "straight:dying");
}

// Neither kind of loss is reported by the device; both are found in the samples.
TEST_F(FaultyDevice, EveryDroppedBlockIsFound) {
    auto device = troubled(DeviceTrouble::dropping);
    for (int n = 0; n < 12; ++n) {
        const auto take = device->run(request, {}, stop);
        ASSERT_TRUE(take.has_value());
        EXPECT_TRUE(take->lost_samples) << "take " << n;
        EXPECT_FALSE(take->channel_faults.empty());
        const auto evidence = measured(*take);
        ASSERT_EQ(evidence.size(), 1u);
        EXPECT_TRUE(evidence[0].flags.has(Flag::dropped)) << "take " << n;
    }
}

TEST_F(FaultyDevice, ClippingRaisesItsFlag) {
    const auto take = troubled(DeviceTrouble::clipping)->run(request, {}, stop);
    ASSERT_TRUE(take.has_value());
    EXPECT_TRUE(first_clipping(take->channels[1]).has_value());
    EXPECT_FALSE(first_clipping(take->channels[0]).has_value()) << "the reference is left alone";
    EXPECT_TRUE(measured(*take)[0].flags.has(Flag::clipped));
}

TEST_F(FaultyDevice, DriftMovesTheMicsAgainstTheReference) {
    const auto take = troubled(DeviceTrouble::drifting)->run(request, {}, stop);
    ASSERT_TRUE(take.has_value());
    EXPECT_EQ(take->channels[0], StraightDevice{}.run(request, {}, stop)->channels[0]);
    EXPECT_NE(take->channels[1], StraightDevice{}.run(request, {}, stop)->channels[1]);
}

TEST_F(FaultyDevice, DyingIsLostThenAwayThenBack) {
    auto device = troubled(DeviceTrouble::dying);
    const auto lost = device->run(request, {}, stop);
    ASSERT_TRUE(lost.has_value());
    ASSERT_TRUE(lost->ended_early.has_value());
    EXPECT_EQ(exit_status(*lost->ended_early), 3);
    EXPECT_TRUE(lost->lost_samples);
    EXPECT_LT(lost->channels[0].size(), 96000u);
    EXPECT_THAT(told(*lost), HasSubstr("of 96000 samples"));
    const auto away = device->run(request, {}, stop);
    ASSERT_FALSE(away.has_value());
    EXPECT_THAT(sentence(away.error()), HasSubstr("is not there"));
    const auto back = device->run(request, {}, stop);
    ASSERT_TRUE(back.has_value());
    EXPECT_FALSE(back->lost_samples) << told(*back);
    EXPECT_FALSE(back->ended_early.has_value());
}

// A resampled sine is the sine of the other clock.
TEST(Resample, IsExactForSinesOfTheBand) {
    for (const auto& [cycles, error] : {std::pair{0.01, 1e-4}, {0.1, 1e-4}, {0.25, 1e-4}, {0.4, 1.8e-4}, {0.45, 3.6e-3}}) {
        std::vector<float> samples(4000);
        const auto at = [step_cycles = cycles](double n) { return std::sin(2.0 * std::numbers::pi * step_cycles * n + 0.4); };
        for (std::size_t n = 0; n < samples.size(); ++n) samples[n] = static_cast<float>(at(static_cast<double>(n)));
        const double step = 1.0 - 100e-6;
        const auto moved = signal::resampled(samples, step, samples.size());
        double worst = 0.0;
        for (std::size_t n = 100; n < 3900; ++n)
            worst = std::max(worst, std::fabs(static_cast<double>(moved[n]) - at(static_cast<double>(n) * step)));
        EXPECT_LT(worst, error) << cycles;
    }
    EXPECT_TRUE(signal::resampled({}, 1.0, 0).empty());
}

}  // namespace
}  // namespace proofwalk::capture
