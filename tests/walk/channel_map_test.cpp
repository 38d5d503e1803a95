#include "walk/channel_map.hpp"

#include <gtest/gtest.h>

#include "scratch_show.hpp"

namespace proofwalk::walk {
namespace {

ChannelMap sample() { return {2, 8, {{3, "m 1", "p=1"}, {4, "m:2;", "100%"}}, {{"M1", 1}, {"Fill left", 5}}}; }

bool same(const ChannelMap& a, const ChannelMap& b) {
    return a.reference == b.reference && a.loopback_output == b.loopback_output && a.outputs == b.outputs &&
           std::ranges::equal(a.mics, b.mics, [](const auto& x, const auto& y) { return x.channel == y.channel && x.mic == y.mic && x.position == y.position; });
}

TEST(ChannelMap, ComesBackFromItsTextWhateverNamesHold) {
    EXPECT_EQ(to_text({1, {}, {{2, "in2", "p1"}}, {{"M1", 1}}}), "reference 1; mics 2=p1:in2; outputs M1=1");
    const auto back = channel_map_from_text(to_text(sample()));
    ASSERT_TRUE(back.has_value());
    EXPECT_TRUE(same(*back, sample()));
}

TEST(ChannelMap, RefusesWhatIsNoMap) {
    for (const char* text : {"", "mics 2=p1:m1", "reference", "reference x", "reference 0", "reference 1; mics 2=p1", "reference 1; mics =p1:m",
                             "reference 1; outputs M1", "reference 1; outputs M1=x", "reference 1; something 2", "reference 1; mics 2=%zz:m", "reference 1 2",
                             "reference 1; mics 2=a%4:m", "; ; ", "reference 99999999999999"})
        EXPECT_FALSE(channel_map_from_text(text).has_value()) << text;
}

TEST(ChannelMap, IsKeptInTheLogAndReused) {
    const ScratchShow scratch;
    {
        Show show = scratch.open();
        const auto none = kept_channels(show);
        ASSERT_TRUE(none.has_value());
        EXPECT_FALSE(none->has_value());
        ASSERT_TRUE(keep_channels(show, {1, {}, {{2, "in2", "q1"}}, {{"CB", 7}}}, origin("R. Walker", "USB Audio")).has_value());
        ASSERT_TRUE(keep_channels(show, {1, {}, {{2, "in2", "q1"}}, {{"CB", 7}}}, origin("R. Walker", "USB Audio")).has_value());
        EXPECT_EQ(show.log.gear()->size(), 1u) << "the same again adds no record";
        ASSERT_TRUE(keep_channels(show, {1, {}, {}, {{"CA", 3}}}, origin("R. Walker", "USB Audio")).has_value());
    }
    const Show again = scratch.open();
    const auto kept = kept_channels(again);
    ASSERT_TRUE(kept.has_value() && kept->has_value());
    EXPECT_EQ((*kept)->outputs, (std::vector<CircuitOutput>{{"CA", 3}, {"CB", 7}}));
    ASSERT_EQ((*kept)->mics.size(), 1u) << "a take without positions leaves the mics where they were";
    EXPECT_EQ(output_of(again.plan.plan, *kept, "CB"), 7) << "what was wired counts more than what was planned";
    EXPECT_EQ(output_of(again.plan.plan, *kept, "FF"), 3) << "as planned";
    EXPECT_EQ(output_of(again.plan.plan, {}, "no such"), std::nullopt);
}

}  // namespace
}  // namespace proofwalk::walk
