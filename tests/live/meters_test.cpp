// Meters and two-device takes through the real audio server.
#include <signal.h>

#include "capture/meters.hpp"
#include "live/room_test.hpp"

namespace proofwalk::live {
namespace {

class LiveMeters : public RoomTest {};

TEST_F(LiveMeters, StandStillOnASilentRoomAndSayWhenTheDeviceIsLost) {
    JackRoom room({48000, 1024, 2, 2, loopback()});
    ASSERT_TRUE(room.ready()) << room.why_not();
    auto meters = capture::start_meters(JackRoom::device, 2, 48000.0);
    ASSERT_TRUE(meters.has_value()) << sentence(meters.error());
    EXPECT_EQ((*meters)->inputs(), 2);
    ASSERT_TRUE(comes_true(std::chrono::seconds(20), [&] { return (*meters)->recent(1, 0.5).size() == 24000u; }));
    const auto look = (*meters)->look();
    ASSERT_EQ(look.size(), 2u);
    for (const auto& channel : look) EXPECT_EQ(channel.peak_dbfs, -200.0);
    EXPECT_TRUE((*meters)->recent(3, 0.5).empty());
    EXPECT_FALSE((*meters)->lost().has_value());
    room.server().signal(SIGKILL);
    std::optional<Fault> lost;
    ASSERT_TRUE(comes_true(std::chrono::seconds(10), [&] { return (lost = (*meters)->lost()).has_value(); }));
    EXPECT_NE(sentence(*lost).find("was lost"), std::string::npos);
}

TEST_F(LiveMeters, RefuseWhatIsNotThere) {
    JackRoom room({48000, 1024, 2, 2, loopback()});
    ASSERT_TRUE(room.ready()) << room.why_not();
    EXPECT_FALSE(capture::start_meters("nothing", 1, 48000.0).has_value());
    EXPECT_FALSE(capture::start_meters(JackRoom::device, 3, 48000.0).has_value());
    const auto rate = capture::start_meters(JackRoom::device, 2, 96000.0);
    ASSERT_FALSE(rate.has_value());
    EXPECT_NE(sentence(rate.error()).find("96000 Hz"), std::string::npos) << sentence(rate.error());
}

// Played on one stream, captured on another: with one server behind both there is no drift to be found. In real time:
// a freewheeling server may run through one stream before the other has begun.
TEST_F(LiveMeters, TwoDevicesMakeOneTake) {
    auto paths = loopback();
    paths.push_back({1, 2, impulse(300, 0.5f)});
    JackRoom room({48000, 1024, 2, 2, paths});
    ASSERT_TRUE(room.ready()) << room.why_not();
    const std::string pair = std::string(JackRoom::device) + " > " + JackRoom::device;
    auto device = capture::open_device(pair);
    ASSERT_TRUE(device.has_value()) << sentence(device.error());
    EXPECT_EQ((*device)->info().name, pair);
    auto take = (*device)->run(sweep_request(48000, 1, 2), {}, stop);
    for (int again = 0; again < 2 && take.has_value() && take->lost_samples; ++again)
        take = (*device)->run(sweep_request(48000, 1, 2), {}, stop);
    ASSERT_TRUE(take.has_value()) << sentence(take.error());
    ASSERT_FALSE(take->ended_early.has_value());
    ASSERT_FALSE(take->lost_samples) << all_sentences(take->channel_faults);
    ASSERT_TRUE(take->drift_ppm.has_value()) << all_sentences(take->channel_faults);
    EXPECT_NEAR(*take->drift_ppm, 0.0, 1.0);
    const auto heard = readings(*take);
    ASSERT_EQ(heard.size(), 1u);
    ASSERT_TRUE(heard[0].arrival_s.has_value());
    EXPECT_NEAR(heard[0].arrival_s->value * 48000.0, 300.0, 1.0);
}

}  // namespace
}  // namespace proofwalk::live
