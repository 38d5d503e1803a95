#include <gmock/gmock.h>

#include <cmath>
#include <vector>

#include "capture/damage.hpp"
#include "capture/stream_damage.hpp"

namespace proofwalk::capture {
namespace {

using testing::HasSubstr;

std::vector<float> tone(std::size_t length, double step = 0.1) {
    std::vector<float> samples;
    for (std::size_t n = 0; n < length; ++n) samples.push_back(0.5f * static_cast<float>(std::sin(step * static_cast<double>(n) + 0.3)));
    return samples;
}

TEST(Damage, FindsFlatTopsAtFullScaleOnly) {
    auto samples = tone(1000);
    EXPECT_EQ(first_clipping(samples), std::nullopt);
    samples[100] = samples[101] = 1.0f;
    EXPECT_EQ(first_clipping(samples), std::nullopt) << "two neighbours may touch full scale";
    samples[102] = 1.0f;
    EXPECT_EQ(first_clipping(samples), 100u);
    samples = std::vector<float>(100, 0.5f);
    EXPECT_EQ(first_clipping(samples), std::nullopt);
    samples = {-1.0f, -1.0f, -1.0f};
    EXPECT_EQ(first_clipping(samples), 0u);
    EXPECT_EQ(first_clipping({}), std::nullopt);
}

TEST(Damage, FindsTheLongestGapButNotTheWayIn) {
    EXPECT_EQ(longest_gap({}, 4), std::nullopt);
    EXPECT_EQ(longest_gap(std::vector<float>(100, 0.0f), 4), std::nullopt);
    std::vector<float> samples(50, 0.0f);
    const auto sound = tone(200);
    samples.insert(samples.end(), sound.begin(), sound.end());
    EXPECT_EQ(longest_gap(samples, 4), std::nullopt);
    std::fill_n(samples.begin() + 80, 6, 0.0f);
    std::fill_n(samples.begin() + 100, 9, 0.0f);
    const auto gap = longest_gap(samples, 4);
    ASSERT_TRUE(gap.has_value());
    EXPECT_EQ(gap->first, 100u);
    EXPECT_EQ(gap->length, 9u);
    EXPECT_EQ(longest_gap(samples, 10), std::nullopt);
    std::fill(samples.begin() + 200, samples.end(), 0.0f);
    EXPECT_EQ(longest_gap(samples, 4)->length, 50u);
}

// A take in a room without noise: zeros before the sound arrives and after it has died away are right.
class StreamDamage : public testing::Test {
protected:
    void SetUp() override {
        take.sheet.label = "t";
        take.sheet.reference = 1;
        take.sheet.mics = {{2, "m1", "p1"}};
        take.rate_hz = 48000.0;
        take.played = tone(20000);
        take.channels.assign(2, std::vector<float>(30000, 0.0f));
        for (std::size_t n = 0; n < 20000; ++n) {
            take.channels[0][n + 1024] = take.played[n];
            take.channels[1][n + 1500] = -0.3f * take.played[n];
        }
    }
    [[nodiscard]] std::string marked(std::size_t wanted = 30000) {
        mark_damage(take, wanted);
        std::string text;
        for (const auto& fault : take.channel_faults) text += sentence(fault) + "\n";
        return text;
    }
    Recording take;
};

TEST_F(StreamDamage, AWholeTakeIsLeftAlone) {
    EXPECT_EQ(marked(), "");
    EXPECT_FALSE(take.lost_samples);
}

TEST_F(StreamDamage, ASilentCircuitIsNoLoss) {
    std::fill(take.channels[1].begin(), take.channels[1].end(), 0.0f);
    EXPECT_EQ(marked(), "");
    EXPECT_FALSE(take.lost_samples);
}

TEST_F(StreamDamage, ALostBlockIsFoundInReferenceAndMic) {
    std::fill_n(take.channels[0].begin() + 9000, 64, 0.0f);
    std::fill_n(take.channels[1].begin() + 9000, 4800, 0.0f);
    const auto text = marked();
    EXPECT_TRUE(take.lost_samples);
    EXPECT_THAT(text, HasSubstr("take t, channel 1: the reference has 1.3 ms of exact zeros at 0.188 s"));
    EXPECT_THAT(text, HasSubstr("channel 2: the mic m1 has 100.0 ms of exact zeros"));
}

TEST_F(StreamDamage, ADeviceThatDiedLeavesZerosToTheEnd) {
    for (auto& channel : take.channels) std::fill(channel.begin() + 15000, channel.end(), 0.0f);
    EXPECT_THAT(marked(), HasSubstr("samples were lost"));
    EXPECT_TRUE(take.lost_samples);
}

TEST_F(StreamDamage, TooFewSamplesAreSaid) {
    for (auto& channel : take.channels) channel.resize(25000);
    EXPECT_THAT(marked(), HasSubstr("25000 of 30000 samples"));
    EXPECT_TRUE(take.lost_samples);
}

TEST_F(StreamDamage, AReferenceThatIsNotThereIsSaid) {
    std::fill(take.channels[0].begin(), take.channels[0].end(), 0.0f);
    EXPECT_THAT(marked(), HasSubstr("the reference is all zeros"));
}

TEST_F(StreamDamage, ASilenceTakeWithAGapIsFound) {
    take.played.clear();
    take.sheet.reference.reset();
    take.channels[1] = tone(30000);
    EXPECT_EQ(marked(), "");
    std::fill_n(take.channels[1].begin() + 9000, 256, 0.0f);
    EXPECT_THAT(marked(), HasSubstr("channel 2"));
    EXPECT_TRUE(take.lost_samples);
}

}  // namespace
}  // namespace proofwalk::capture
