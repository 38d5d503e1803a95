// The program itself on the live path: what a person types, what it says, and what stands in the log afterwards.
#include <fcntl.h>
#include <signal.h>
#include <sqlite3.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <fstream>
#include <sstream>

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "capture/shared_stream.hpp"
#include "live/struck_room.hpp"

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
    // Seen from outside: the audio process of a program captures a take of at least `least_s` seconds.
    [[nodiscard]] static bool captures(pid_t program, double least_s) {
        const auto child = capture_child_of(program);
        if (!child) return false;
        const int memory = ::open(fmt::format("/proc/{}/fd/3", *child).c_str(), O_RDWR | O_CLOEXEC);
        if (memory < 0) return false;
        const auto stream = capture::SharedStream::attach(memory);
        if (!stream) return false;
        const auto& control = stream->control();
        return control.job == capture::Job::stream && static_cast<double>(control.wanted_frames) >= least_s * control.rate_hz &&
               control.captured_frames.load() > 9600;
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
    ASSERT_TRUE(comes_true(std::chrono::seconds(30), [&] { return captures(program.id(), 10.0); })) << text_of(output);
    room->server().signal(SIGKILL);
    EXPECT_EQ(program.wait(std::chrono::seconds(60)), 3) << text_of(output);
    const std::string told = text_of(output);
    EXPECT_NE(told.find("was lost in mid-take"), std::string::npos) << told;
    EXPECT_NE(told.find("logged "), std::string::npos) << told;
    ASSERT_EQ(run({PROOFWALK_PROGRAM, "readings", log.string(), "--json"}), 0) << said;
    EXPECT_NE(said.find("\"dropped\""), std::string::npos) << said;
}

// Both circuits of the plan that share a range, each on an output of its own, in one take and one after another: the figures agree.
TEST_F(LiveProgram, OverlappedSweepsReadAsTakesOneAfterAnother) {
    const auto all = [&](const std::string& name, std::vector<std::string> more) {
        std::vector<std::string> arguments = {PROOFWALK_PROGRAM, "take", PROOFWALK_SOURCE_DIR "/fixtures/small/plan.toml", "--log", (room->folder() / name).string(),
                                              "--device", JackRoom::device, "--circuit", "CA,CB", "--output", "1,2", "--reference", "1", "--mics", "2=q1",
                                              "--armed", "Test Person", "--length", "2"};
        arguments.insert(arguments.end(), more.begin(), more.end());
        return arguments;
    };
    room.reset();
    auto paths = loopback();
    paths.push_back({1, 2, impulse(240, -0.5f)});
    paths.push_back({2, 2, impulse(1000, 0.25f)});
    room = std::make_unique<JackRoom>(JackRoom::Shape{48000, 1024, 2, 2, paths});
    ASSERT_TRUE(room->ready()) << room->why_not();
    room->freewheel();
    ASSERT_EQ(run(all("solo.db", {"--count-in", "0"})), 0) << said;
    ASSERT_EQ(run(all("both.db", {"--overlap"})), 0) << said;
    const auto figures = [&](const std::string& name, const std::string& circuit) {
        EXPECT_EQ(run({PROOFWALK_PROGRAM, "readings", (room->folder() / name).string(), "--json"}), 0) << said;
        const auto document = nlohmann::json::parse(said);
        for (const auto& reading : document["readings"])
            if (reading["circuit"] == circuit && reading["arrival_ms"].is_number() && reading["polarity"].is_number())
                return std::array{reading["arrival_ms"].get<double>(), reading["aim_band_db"].get<double>(), reading["polarity"].get<double>()};
        ADD_FAILURE() << name << " has no reading of " << circuit << "\n" << said;
        return std::array{0.0, 0.0, 0.0};
    };
    for (const std::string circuit : {"CA", "CB"}) {
        const auto solo = figures("solo.db", circuit), both = figures("both.db", circuit);
        EXPECT_NEAR(both[0], solo[0], 0.005) << circuit;
        EXPECT_NEAR(both[1], solo[1], 0.1) << circuit;
        EXPECT_EQ(both[2], solo[2]) << circuit;
    }
    EXPECT_NEAR(figures("both.db", "CB")[0], 1000.0 / 48.0, 1.0 / 48.0);
    EXPECT_NEAR(figures("both.db", "CB")[1], -12.04, 0.1);
}

// Channels named once are kept with the show's log.
TEST_F(LiveProgram, TheNextTakeNeedsNoChannels) {
    room->freewheel();
    ASSERT_EQ(run(take("1")), 0) << said;
    ASSERT_EQ(run({PROOFWALK_PROGRAM, "take", PROOFWALK_SOURCE_DIR "/fixtures/small/plan.toml", "--log", log.string(), "--device", JackRoom::device,
                   "--circuit", "CA", "--armed", "Test Person", "--length", "1", "--verbose"}),
              0)
        << said;
    EXPECT_NE(said.find("What the audio libraries printed"), std::string::npos) << said;
    ASSERT_EQ(run({PROOFWALK_PROGRAM, "readings", log.string(), "--json"}), 0) << said;
    EXPECT_NEAR(nlohmann::json::parse(said)["readings"].back()["arrival_ms"].get<double>(), 5.0, 1.0 / 48.0) << said;
}

// Another program holds the log when the take is done: it is tried again, and in the end put away where ingest finds it.
TEST_F(LiveProgram, ALockedLogLosesNoTake) {
    setenv("XDG_STATE_HOME", (room->folder() / "state").c_str(), 1);
    const auto output = room->folder() / "locked.txt";
    Program program(take("4"), output);
    ASSERT_TRUE(comes_true(std::chrono::seconds(60), [&] { return captures(program.id(), 5.0); })) << text_of(output);
    sqlite3* other = nullptr;
    ASSERT_EQ(sqlite3_open(log.c_str(), &other), SQLITE_OK);
    ASSERT_EQ(sqlite3_exec(other, "BEGIN IMMEDIATE", nullptr, nullptr, nullptr), SQLITE_OK);
    EXPECT_EQ(program.wait(std::chrono::seconds(90)), 3) << text_of(output);
    said = text_of(output);
    sqlite3_exec(other, "ROLLBACK", nullptr, nullptr, nullptr);
    sqlite3_close(other);
    unsetenv("XDG_STATE_HOME");
    EXPECT_NE(said.find("tried again"), std::string::npos) << said;
    const auto at = said.find("proofwalk ingest ");
    ASSERT_NE(at, std::string::npos) << said;
    const std::string rescued = said.substr(at + 17, said.find(" --log", at) - at - 17);
    ASSERT_EQ(run({PROOFWALK_PROGRAM, "ingest", rescued, "--log", log.string()}), 0) << said;
    EXPECT_NE(said.find("logged CA-"), std::string::npos) << said;
}

// A disk that is full when the take is done: a file system of a megabyte in a name space of its own.
TEST_F(LiveProgram, AFullDiskLosesNoTake) {
    const auto disk = room->folder() / "disk";
    std::filesystem::create_directories(disk);
    const std::vector<std::string> own_disk = {"unshare", "-rm", "sh", "-c", "mount -t tmpfs -o size=1m tmpfs " + disk.string() + " && exec \"$@\"", "sh"};
    auto probe = own_disk;
    probe.push_back("true");
    if (run(probe) != 0) GTEST_SKIP() << "no file system of one's own can be made here: the full disk is tested in tests/crash alone";
    room->freewheel();
    setenv("XDG_STATE_HOME", (room->folder() / "state").c_str(), 1);
    log = disk / "show.db";
    auto full = own_disk;
    for (const auto& word : take("6")) full.push_back(word);
    EXPECT_EQ(run(full), 3) << said;
    unsetenv("XDG_STATE_HOME");
    EXPECT_NE(said.find("the disk is full"), std::string::npos) << said;
    const auto at = said.find("proofwalk ingest ");
    ASSERT_NE(at, std::string::npos) << said;
    const std::string rescued = said.substr(at + 17, said.find(" --log", at) - at - 17);
    ASSERT_EQ(run({PROOFWALK_PROGRAM, "ingest", PROOFWALK_SOURCE_DIR "/fixtures/small/plan.toml", rescued, "--log", (room->folder() / "other.db").string()}), 0) << said;
    EXPECT_NE(said.find("logged CA-"), std::string::npos) << said;
}

// All that a position needs, as one command; run again it finds nothing left.
TEST_F(LiveProgram, ASequenceTakesWhatIsLeftAndNoMore) {
    room->freewheel();
    const std::vector<std::string> all = {PROOFWALK_PROGRAM, "take", PROOFWALK_SOURCE_DIR "/fixtures/small/plan.toml", "--log", log.string(), "--device", JackRoom::device,
                                          "--reference", "1", "--mics", "2=q1", "--armed", "Test Person", "--length", "1", "--all", "--count-in", "0"};
    const auto logged = [&] {
        std::size_t count = 0;
        for (auto at = said.find("logged "); at != std::string::npos; at = said.find("logged ", at + 1)) ++count;
        return count;
    };
    ASSERT_EQ(run(all), 0) << said;
    EXPECT_GE(logged(), 2u) << said;
    EXPECT_NE(said.find("logged silence-"), std::string::npos) << said;
    EXPECT_NE(said.find("logged CA-"), std::string::npos) << said;
    ASSERT_EQ(run(all), 0) << said;
    EXPECT_EQ(logged(), 0u) << said;
    EXPECT_NE(said.find("Nothing is left to take"), std::string::npos) << said;
}

}  // namespace
}  // namespace proofwalk::live
