// A take that is struck in its middle: by a signal to one of the programs, by a tool of the audio server, by a hand on the stop key.
#pragma once

#include <signal.h>

#include <filesystem>
#include <fstream>
#include <functional>
#include <sstream>

#include "live/room_test.hpp"

namespace proofwalk::live {

using Clock = std::chrono::steady_clock;
inline constexpr double long_take_s = 30.0;
inline constexpr double hang_s = 10.0;  // PortAudio by itself hangs for 600 s; no promise of speed is tested here

// The capture child of a program, nothing before it has one.
inline std::optional<pid_t> capture_child_of(pid_t program) {
    std::error_code unread;
    for (const auto& entry : std::filesystem::directory_iterator("/proc", unread)) {
        const std::string process = entry.path().filename().string();
        if (process.find_first_not_of("0123456789") != std::string::npos) continue;
        // A process may end while it is looked at: then the line is empty.
        std::ifstream stat(entry.path() / "stat");
        std::string line;
        std::getline(stat, line);
        std::istringstream about(line);
        std::string id, name, state, parent;
        about >> id >> name >> state >> parent;
        if (name == "(proofwalk-audio)" && parent == std::to_string(program)) return static_cast<pid_t>(std::stol(process));
    }
    return std::nullopt;
}

class StruckRoom : public RoomTest {
protected:
    void SetUp() override {
        RoomTest::SetUp();
        if (IsSkipped()) return;
        auto paths = loopback();
        paths.push_back({1, 2, impulse(240, -0.5f)});
        room = std::make_unique<JackRoom>(JackRoom::Shape{48000, 1024, 2, 2, paths});
        ASSERT_TRUE(room->ready()) << room->why_not();
        auto opened = capture::open_device(JackRoom::device);
        ASSERT_TRUE(opened.has_value()) << sentence(opened.error());
        device = std::move(*opened);
    }

    // A take that is struck as soon as some of it is there; long enough to be struck on a machine that is busy with other work.
    Result<capture::Recording> struck_take(double length_s, const std::function<void()>& strike) {
        struck = false;
        auto take = device->run(
            sweep_request(48000, 1, 2, length_s),
            [&](const capture::Progress& progress) {
                if (struck || progress.done_s < 0.25) return;
                struck = true;
                strike();
                struck_at = Clock::now();
            },
            stop);
        told_after_s = std::chrono::duration<double>(Clock::now() - struck_at).count();
        return take;
    }

    static void expect_kept(const Result<capture::Recording>& take) {
        ASSERT_TRUE(take.has_value()) << sentence(take.error());
        ASSERT_TRUE(take->ended_early.has_value());
        EXPECT_EQ(exit_status(*take->ended_early), 3);
        EXPECT_TRUE(take->lost_samples);
        EXPECT_GT(take->channels.front().size(), 4800u);
        EXPECT_LT(take->channels.front().size(), static_cast<std::size_t>(long_take_s * 48000.0));
        EXPECT_FALSE(capture::raw_sha256(take->rate_hz, take->channels).empty());
    }

    // One of the server's tools, never for long.
    int tool(std::vector<std::string> arguments) {
        arguments.insert(arguments.begin(), {"timeout", "-k", "1", "5"});
        Program program(std::move(arguments), room->folder() / "tool.txt");
        return program.wait(std::chrono::seconds(8));
    }

    std::unique_ptr<JackRoom> room;
    std::unique_ptr<capture::Device> device;
    bool struck = false;
    Clock::time_point struck_at;
    double told_after_s = 0.0;
};

}  // namespace proofwalk::live
