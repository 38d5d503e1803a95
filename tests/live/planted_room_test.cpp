// The whole live path, out of the program and back through a real audio server: what was planted in the impulse responses must
// come out of the measurement. The convolution engine is a third-party program, so a shared mistake would show.
#include <algorithm>
#include <fstream>
#include <functional>

#include "live/room_test.hpp"

namespace proofwalk::live {
namespace {

class PlantedRoom : public RoomTest {};

long resident_pages() {
    std::ifstream statm("/proc/self/statm");
    long whole = 0, resident = 0;
    statm >> whole >> resident;
    return resident;
}

struct Planted {
    std::size_t delay;
    float gain;
    std::size_t later;
    float later_gain;
};

void expect_planted(const signal::Reading& reading, const Planted& planted, double rate_hz) {
    ASSERT_TRUE(reading.arrival_s.has_value());
    // One sample, at 96 kHz one sample of 48 kHz: the band that counts for the arrival ends below 24 kHz at any rate.
    EXPECT_NEAR(reading.arrival_s->value, static_cast<double>(planted.delay) / rate_hz, 1.0 / std::min(rate_hz, 48000.0));
    EXPECT_EQ(reading.polarity, planted.gain > 0 ? 1 : -1);
    ASSERT_TRUE(reading.aim_band_db.has_value());
    EXPECT_NEAR(reading.aim_band_db->value, 20.0 * std::log10(std::fabs(planted.gain)), 0.1);
    const double after_s = static_cast<double>(planted.later) / rate_hz;
    const auto found = std::find_if(reading.reflections.begin(), reading.reflections.end(), [&](const signal::Reflection& r) {
        return std::fabs(r.after_s - after_s) * rate_hz <= 1.0;
    });
    ASSERT_NE(found, reading.reflections.end()) << "no reflection " << 1000.0 * after_s << " ms after the arrival";
    EXPECT_NEAR(found->level_db, 20.0 * std::log10(std::fabs(planted.later_gain / planted.gain)), 0.5);
}

// Two outputs, four inputs, another impulse response for each pair.
void check_room(int rate_hz, std::atomic<bool>& stop,
                const std::function<capture::PlayRequest(int output)>& request_for,
                const std::function<std::vector<signal::Reading>(const capture::Recording&)>& readings,
                std::vector<Path> paths) {
    const auto at = [&](double seconds) { return static_cast<std::size_t>(std::lround(seconds * rate_hz)); };
    const std::vector<std::vector<Planted>> planted = {
        {{at(0.005), -0.5f, at(0.02), 0.1f}, {at(0.031), 0.25f, at(0.012), 0.1f}, {at(0.0104), 0.8f, at(0.015), -0.2f}},
        {{at(0.0207), 0.4f, at(0.018), 0.1f}, {at(0.012), -0.125f, at(0.03), 0.05f}, {at(0.002), -1.0f, at(0.025), 0.3f}},
    };
    for (int output = 1; output <= 2; ++output)
        for (int mic = 0; mic < 3; ++mic) {
            const auto& p = planted[static_cast<std::size_t>(output - 1)][static_cast<std::size_t>(mic)];
            std::vector<float> impulse(p.delay + p.later + 512, 0.0f);
            impulse[p.delay] = p.gain;
            impulse[p.delay + p.later] = p.later_gain;
            paths.push_back({output, mic + 2, std::move(impulse)});
        }
    JackRoom room({rate_hz, 1024, 2, 4, paths});
    ASSERT_TRUE(room.ready()) << room.why_not();
    room.freewheel();
    auto device = capture::open_device(JackRoom::device);
    ASSERT_TRUE(device.has_value()) << sentence(device.error());
    EXPECT_EQ((*device)->info().host_system, "JACK");
    EXPECT_EQ((*device)->info().inputs, 4);
    EXPECT_EQ((*device)->info().outputs, 2);
    EXPECT_EQ((*device)->info().rate_hz, rate_hz);
    for (int output = 1; output <= 2; ++output) {
        const auto take = (*device)->run(request_for(output), {}, stop);
        ASSERT_TRUE(take.has_value()) << sentence(take.error());
        EXPECT_FALSE(take->lost_samples);
        EXPECT_TRUE(take->channel_faults.empty()) << sentence(take->channel_faults.front());
        EXPECT_FALSE(take->ended_early.has_value());
        const auto heard = readings(*take);
        ASSERT_EQ(heard.size(), 3u);
        for (std::size_t mic = 0; mic < 3; ++mic) {
            SCOPED_TRACE(testing::Message() << "output " << output << ", input " << mic + 2 << ", " << rate_hz << " Hz");
            expect_planted(heard[mic], planted[static_cast<std::size_t>(output - 1)][mic], rate_hz);
        }
    }
}

TEST_F(PlantedRoom, GivesDelayLevelPolarityAndReflectionsBack) {
    for (const int rate_hz : {44100, 48000, 96000, 176400, 192000})
        check_room(rate_hz, stop, [&](int output) { return sweep_request(rate_hz, output, 4); },
                   [](const capture::Recording& take) { return readings(take); }, loopback());
}

TEST_F(PlantedRoom, RunsInRealTimeToo) {
    auto paths = loopback();
    paths.push_back({1, 2, impulse(480, 0.5f)});
    JackRoom room({48000, 1024, 2, 2, paths});
    ASSERT_TRUE(room.ready()) << room.why_not();
    auto device = capture::open_device(std::string("JACK:") + JackRoom::device);
    ASSERT_TRUE(device.has_value()) << sentence(device.error());
    Result<capture::Recording> take = std::unexpected(Fault{});
    // A machine that is busy with other work may starve the server; the take says so, and is taken again.
    for (int again = 0; again < 5 && (!take || take->lost_samples); ++again) {
        double last_s = 0.0;
        std::size_t reports = 0;
        float loudest = 0.0f;
        take = (*device)->run(
            sweep_request(48000, 1, 2),
            [&](const capture::Progress& progress) {
                EXPECT_GE(progress.done_s, last_s);
                EXPECT_NEAR(progress.whole_s, 1.8, 1e-9);
                ASSERT_EQ(progress.peak.size(), 2u);
                loudest = std::max(loudest, progress.peak[0]);
                last_s = progress.done_s;
                ++reports;
            },
            stop);
        ASSERT_TRUE(take.has_value()) << sentence(take.error());
        EXPECT_GE(reports, 1u);
        EXPECT_NEAR(last_s, 1.8, 1e-9);
        EXPECT_NEAR(loudest, 0.251, 0.01);  // the sweep at -12 dB
        EXPECT_EQ(take->channels.front().size(), 86400u);
    }
    if (take->lost_samples) GTEST_SKIP() << "the busy machine lost samples in five takes of five, and each says so: " << all_sentences(take->channel_faults);
    const auto heard = readings(*take);
    ASSERT_EQ(heard.size(), 1u);
    ASSERT_TRUE(heard[0].arrival_s.has_value());
    EXPECT_NEAR(heard[0].arrival_s->value * 48000.0, 480.0, 1.0);
}

// Zero lost blocks and memory that does not grow, over takes in a row.
void take_in_a_row(int takes, std::vector<Path> paths, const capture::PlayRequest& request, const std::atomic<bool>& stop,
                   const std::function<std::vector<signal::Reading>(const capture::Recording&)>& readings) {
    paths.push_back({1, 2, std::vector<float>(241, 0.0f)});
    paths.back().impulse.back() = -0.5f;
    JackRoom room({48000, 1024, 2, 2, paths});
    ASSERT_TRUE(room.ready()) << room.why_not();
    room.freewheel();
    auto device = capture::open_device(JackRoom::device);
    ASSERT_TRUE(device.has_value()) << sentence(device.error());
    long settled_pages = 0;
    for (int n = 0; n < takes; ++n) {
        if (n == takes / 4) settled_pages = resident_pages();
        const auto take = (*device)->run(request, {}, stop);
        ASSERT_TRUE(take.has_value()) << "take " << n << ": " << sentence(take.error());
        EXPECT_FALSE(take->lost_samples) << "take " << n;
        const auto heard = readings(*take);
        ASSERT_TRUE(heard[0].arrival_s.has_value());
        EXPECT_NEAR(heard[0].arrival_s->value * 48000.0, 240.0, 1.0) << "take " << n;
    }
    // One take is 0.5 MB; those that stayed behind would be seen.
    EXPECT_LT(resident_pages() - settled_pages, 1024) << "memory grows from take to take";
}

TEST_F(PlantedRoom, TwentyTakesInARowAreAllWhole) {
    take_in_a_row(20, loopback(), sweep_request(48000, 1, 2, 0.5), stop, [](const capture::Recording& take) { return readings(take); });
}

// The long form: tests_live --gtest_also_run_disabled_tests --gtest_filter='*Soak*'
TEST_F(PlantedRoom, DISABLED_SoakOfAHundredTakes) {
    take_in_a_row(100, loopback(), sweep_request(48000, 1, 2, 4.0), stop, [](const capture::Recording& take) { return readings(take); });
}

}  // namespace
}  // namespace proofwalk::live
