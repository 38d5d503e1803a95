#include "walk/overlapped_take.hpp"

#include <gmock/gmock.h>

#include "rehearsal/rehearsal.hpp"
#include "scratch_show.hpp"

namespace proofwalk::walk {
namespace {

class Overlapped : public testing::Test {
protected:
    Overlapped() {
        rehearsal::Settings settings;
        settings.exact = true;
        auto made = rehearsal::make_room(show.plan.plan, settings);
        EXPECT_TRUE(made.has_value());
        room = std::move(*made);
        device = room->device();
        common.mics = {{2, "m1", "q1"}, {3, "m2", "q2"}, {4, "m3", "q3"}};
        common.armed_by = "R. Walker";
        common.drive.length_s = 2.0;
    }

    ScratchShow scratch;
    Show show = scratch.open();
    std::unique_ptr<rehearsal::Room> room;
    std::unique_ptr<capture::Device> device;
    LiveTake common;
    std::atomic<bool> stop{false};
    const std::vector<CircuitOutput> both = {{"CA", 1}, {"CB", 2}};
};

TEST_F(Overlapped, EachCircuitReadsAsItDoesAlone) {
    const auto overlap = overlap_of(show.plan.plan, both, common.drive);
    ASSERT_TRUE(overlap.has_value()) << sentence(overlap.error());
    EXPECT_LT(overlap->starts_s[1], common.drive.length_s) << "they do overlap";
    const auto together = take_overlapped(show, *device, common, *overlap, {}, stop);
    ASSERT_TRUE(together.has_value()) << sentence(together.error());
    EXPECT_FALSE(together->lost_samples) << sentence(together->faults.front());
    ASSERT_EQ(together->record.evidence.size(), 6u);
    for (const auto& [circuit, output] : both) {
        LiveTake solo = common;
        solo.circuit = circuit;
        solo.output = output;
        const auto alone = take_stored(show, *device, solo, {}, stop);
        ASSERT_TRUE(alone.has_value()) << sentence(alone.error());
        for (const auto& heard : alone->record.evidence) {
            const auto same = std::ranges::find_if(together->record.evidence, [&](const auto& other) { return other.circuit == circuit && other.mic == heard.mic; });
            ASSERT_NE(same, together->record.evidence.end());
            SCOPED_TRACE(circuit + " " + heard.mic);
            ASSERT_TRUE(heard.reading.arrival_s && same->reading.arrival_s);
            EXPECT_NEAR(same->reading.arrival_s->value, heard.reading.arrival_s->value, 5e-6);
            EXPECT_EQ(same->reading.polarity, heard.reading.polarity);
            ASSERT_TRUE(heard.reading.aim_band_db && same->reading.aim_band_db);
            EXPECT_NEAR(same->reading.aim_band_db->value, heard.reading.aim_band_db->value, 0.1);
            for (std::size_t band = 0; band < band_count; ++band) {
                const bool read = heard.reading.direct_db.has(band) && same->reading.direct_db.has(band);
                if (!read || midband_hz(band) < 500.0 || midband_hz(band) > 12000.0) continue;
                EXPECT_NEAR(same->reading.direct_db[band], heard.reading.direct_db[band], 0.1) << midband_hz(band) << " Hz";
            }
        }
    }
}

TEST_F(Overlapped, OtherRangesAreLeftOutAndOneOutputForTwoIsRefused) {
    const auto mixed = overlap_of(show.plan.plan, {{"CA", 1}, {"FF", 3}, {"CB", 2}}, common.drive);
    ASSERT_TRUE(mixed.has_value());
    EXPECT_EQ(mixed->circuits, both);
    EXPECT_THAT(mixed->left_out, testing::ElementsAre("FF"));
    EXPECT_FALSE(overlap_of(show.plan.plan, {{"CA", 1}, {"CB", 1}}, common.drive).has_value());
    EXPECT_FALSE(overlap_of(show.plan.plan, {}, common.drive).has_value());
    Drive noise = common.drive;
    noise.kind = signal::TakeKind::noise;
    LiveTake other = common;
    other.drive = noise;
    EXPECT_FALSE(take_overlapped(show, *device, other, *overlap_of(show.plan.plan, both, common.drive), {}, stop).has_value());
}

}  // namespace
}  // namespace proofwalk::walk
