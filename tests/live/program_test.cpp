// The program itself on the live path: what a person types, what it says, and what stands in the log afterwards.
#include <fcntl.h>
#include <signal.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <fstream>
#include <sstream>

#include <fmt/format.h>

#include "capture/shared_stream.hpp"
#include "live/room_test.hpp"

namespace proofwalk::live {
namespace {

class LiveProgram : public RoomTest {
protected:
    void SetUp() override {
        RoomTest::SetUp();
        if (IsSkipped()) return;
        auto paths = loopback();
        paths.push_back({1, 2, impulse(240, -0.5f, 720, 0.05f)});
        room = std::make_unique<JackRoom>(JackRoom::Shape{48000, 1024, 2, 2, paths});
        ASSERT_TRUE(room->ready()) << room->why_not();
        log = room->folder() / "show.db";
    }

    [[nodiscard]] std::vector<std::string> take(const std::string& length) const {
        return {PROOFWALK_PROGRAM, "take", PROOFWALK_SOURCE_DIR "/fixtures/small/plan.toml", "--log", log.string(), "--device", JackRoom::device,
                "--circuit", "CA", "--output", "1", "--reference", "1", "--mics", "2=q1", "--armed", "Test Person", "--length", length};
    }
    // Exit status; what it said goes into `said`.
    int run(std::vector<std::string> arguments) {
        const auto output = room->folder() / fmt::format("said-{}.txt", ++runs);
        Program program(std::move(arguments), output);
        const int status = program.wait(std::chrono::seconds(60));
        said = text_of(output);
        return status;
    }
    [[nodiscard]] static std::string text_of(const std::filesystem::path& file) {
        std::ifstream stream(file, std::ios::binary);
        return {std::istreambuf_iterator<char>(stream), {}};
    }
    [[nodiscard]] static double number_after(const std::string& text, const std::string& key) {
        const auto at = text.find("\"" + key + "\":");
        if (at == std::string::npos) return NAN;
        return std::strtod(text.c_str() + at + key.size() + 3, nullptr);
    }
    // The shared memory of the audio process that a program started, seen from outside; nothing until it captures.
    [[nodiscard]] static bool captures(pid_t program) {
        for (const auto& entry : std::filesystem::directory_iterator("/proc")) {
            const std::string process = entry.path().filename().string();
            if (process.find_first_not_of("0123456789") != std::string::npos) continue;
            // A process may end while it is looked at: then the line is empty.
            std::ifstream stat(entry.path() / "stat");
            std::string line;
            std::getline(stat, line);
            std::istringstream about(line);
            std::string id, name, state, parent;
            about >> id >> name >> state >> parent;
            if (name != "(proofwalk-audio)" || parent != std::to_string(program)) continue;
            const int memory = ::open((entry.path() / "fd" / "3").c_str(), O_RDWR | O_CLOEXEC);
            if (memory < 0) continue;
            const auto stream = capture::SharedStream::attach(memory);
            if (stream && stream->control().job == capture::Job::stream && stream->control().captured_frames.load() > 9600) return true;
        }
        return false;
    }

    std::unique_ptr<JackRoom> room;
    std::filesystem::path log;
    std::string said;
    int runs = 0;
};

TEST_F(LiveProgram, TakesAndReadsWhatWasPlanted) {
    room->freewheel();
    ASSERT_EQ(run({PROOFWALK_PROGRAM, "devices", "--json"}), 0) << said;
    EXPECT_NE(said.find("\"jconvolver\""), std::string::npos) << said;
    ASSERT_EQ(run(take("1")), 0) << said;
    EXPECT_NE(said.find("logged "), std::string::npos) << said;
    ASSERT_EQ(run({PROOFWALK_PROGRAM, "readings", log.string(), "--json"}), 0) << said;
    EXPECT_NEAR(number_after(said, "arrival_ms"), 5.0, 1.0 / 48.0) << said;
    EXPECT_NEAR(number_after(said, "aim_band_db"), -6.02, 0.1) << said;
    EXPECT_EQ(number_after(said, "polarity"), -1.0) << said;
}

TEST_F(LiveProgram, NothingPlaysUnlessItIsArmed) {
    auto unarmed = take("1");
    const auto at = std::find(unarmed.begin(), unarmed.end(), "--armed");
    unarmed.erase(at, at + 2);
    EXPECT_EQ(run(unarmed), 2) << said;
    EXPECT_NE(said.find("armed"), std::string::npos) << said;
}

TEST_F(LiveProgram, ServerKilledInMidTakeIsSaidAndWhatThereWasIsLogged) {
    const auto output = room->folder() / "killed.txt";
    Program program(take("60"), output);
    ASSERT_TRUE(comes_true(std::chrono::seconds(30), [&] { return captures(program.id()); })) << text_of(output);
    room->server().signal(SIGKILL);
    EXPECT_EQ(program.wait(std::chrono::seconds(60)), 3) << text_of(output);
    const std::string told = text_of(output);
    EXPECT_NE(told.find("was lost in mid-take"), std::string::npos) << told;
    EXPECT_NE(told.find("logged "), std::string::npos) << told;
    ASSERT_EQ(run({PROOFWALK_PROGRAM, "readings", log.string(), "--json"}), 0) << said;
    EXPECT_NE(said.find("\"dropped\""), std::string::npos) << said;
}

}  // namespace
}  // namespace proofwalk::live
