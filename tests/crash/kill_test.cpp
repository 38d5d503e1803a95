// Programs killed at random instants: what they said was stored is there, whole, and the log goes on. The number of kills
// is PROOFWALK_KILLS, for the long form (run.sh); in the test run it is small.
#include <gtest/gtest.h>
#include <fcntl.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <cstdlib>
#include <map>
#include <random>
#include <sstream>
#include <thread>

#include "log/audit.hpp"
#include "log/sample.hpp"

namespace proofwalk::log {
namespace {

using namespace sample;

int kills(int in_test_run) {
    const char* wanted = std::getenv("PROOFWALK_KILLS");
    return wanted ? std::atoi(wanted) : in_test_run;
}

// Runs a program and kills it after `wait`, unless it has ended; gives what it had written.
std::string run_and_kill(const std::vector<std::string>& command, std::chrono::microseconds wait, bool& ended) {
    int ends[2];
    if (::pipe(ends) != 0) return "";
    const pid_t child = ::fork();
    if (child == 0) {
        ::dup2(ends[1], STDOUT_FILENO);
        ::close(ends[0]);
        const int nowhere = ::open("/dev/null", O_WRONLY);
        ::dup2(nowhere, STDERR_FILENO);
        std::vector<char*> arguments;
        for (const std::string& word : command) arguments.push_back(const_cast<char*>(word.c_str()));
        arguments.push_back(nullptr);
        ::execv(arguments[0], arguments.data());
        ::_exit(127);
    }
    ::close(ends[1]);
    std::string output;
    std::thread reader([&] {
        char buffer[4096];
        for (ssize_t got; (got = ::read(ends[0], buffer, sizeof buffer)) > 0;) output.append(buffer, static_cast<std::size_t>(got));
    });
    const auto until = std::chrono::steady_clock::now() + wait;
    int status = 0;
    bool gone = false;
    while (!gone && std::chrono::steady_clock::now() < until) {
        std::this_thread::sleep_for(std::min<std::chrono::nanoseconds>(until - std::chrono::steady_clock::now(), std::chrono::milliseconds{5}));
        gone = ::waitpid(child, &status, WNOHANG) == child;
    }
    if (!gone) {
        ::kill(child, SIGKILL);
        ::waitpid(child, &status, 0);
    }
    ended = WIFEXITED(status);
    reader.join();
    ::close(ends[0]);
    return output;
}

// Hash by label of every whole line "logged LABEL HASH".
std::map<std::string, std::string> acknowledged(const std::string& output) {
    std::map<std::string, std::string> takes;
    std::istringstream lines(output);
    for (std::string line; std::getline(lines, line) && !lines.eof();) {
        std::istringstream words(line);
        std::string word, label, hash;
        if (words >> word >> label >> hash && word == "logged") takes[label] = hash;
    }
    return takes;
}

void expect_all_there(const std::filesystem::path& file, const std::map<std::string, std::string>& wanted) {
    if (wanted.empty() && !std::filesystem::exists(file)) return;
    const auto log = Log::open(file, Mode::write);
    ASSERT_TRUE(log.has_value()) << sentence(log.error());
    const auto takes = log->takes();
    ASSERT_TRUE(takes.has_value()) << sentence(takes.error());
    std::map<std::string, const TakeRecord*> by_hash;
    for (const TakeRecord& take : *takes) by_hash[take.sha256] = &take;
    for (const auto& [label, hash] : wanted) ASSERT_TRUE(by_hash.contains(hash)) << label << " was said to be stored";
    const auto result = audit(file, {});
    ASSERT_TRUE(result.has_value());
    for (const Finding& finding : result->findings) ADD_FAILURE() << finding.says;
}

TEST(Kill, EveryAcknowledgedTakeIsThere) {
    const Folder folder;
    const auto file = folder / "show.db";
    std::mt19937 random(std::random_device{}());
    std::map<std::string, std::string> wanted;
    int next = 0, killed = 0;
    for (int round = 0; killed < kills(60) && round < 20 * kills(60); ++round) {
        if (round % 25 == 24) {  // a new log now and then, so that its beginning is hit too
            std::filesystem::remove_all(folder.path());
            std::filesystem::create_directories(folder.path());
            wanted.clear();
        }
        bool ended = false;
        const auto wait = std::chrono::microseconds(std::uniform_int_distribution<int>(500, 60'000)(random));
        const auto got = acknowledged(run_and_kill({CRASH_DRIVER, file.string(), std::to_string(next), "400"}, wait, ended));
        killed += ended ? 0 : 1;
        wanted.insert(got.begin(), got.end());
        next += 400;
        expect_all_there(file, wanted);
        if (HasFatalFailure()) return;
        std::error_code error;
        for (const auto& entry : std::filesystem::directory_iterator(file.string() + ".takes", error))
            EXPECT_NE(entry.path().extension(), ".part") << "left behind";
    }
    EXPECT_EQ(killed, kills(60));
    RecordProperty("kills", killed);
}

// The real program, command by command: a log is written by one run after another, each killed, and begun anew now and then.
class KillProgram : public ::testing::TestWithParam<const char*> {
protected:
    using Command = std::vector<std::string>;

    // Empty where what it needs is not there.
    static Command command(const std::string& name, const std::filesystem::path& log, unsigned round) {
        const std::filesystem::path set = PROOFWALK_SOURCE_DIR "/../shared/cases/one-box-low";
        const std::string plan = PROOFWALK_SOURCE_DIR "/fixtures/small/plan.toml";
        if (name == "rehearse")
            return {PROOFWALK_PROGRAM, "rehearse", plan, "--log", log.string(), "--seed", std::to_string(round), "--length", "0.5"};
        if (name == "take")
            return {PROOFWALK_PROGRAM, "take", plan, "--log", log.string(), "--device", "rehearsal", "--circuit", "CA", "--output", "1",
                    "--reference", "1", "--mics", "2=q1", "--armed", "R. Walker", "--length", "0.5"};
        if (!std::filesystem::exists(set / "takes.toml")) return {};
        return {PROOFWALK_PROGRAM, "ingest", (set / "plan.toml").string(), (set / "takes.toml").string(), "--log", log.string()};
    }
};

TEST_P(KillProgram, LosesNothingThatWasAcknowledged) {
    using Clock = std::chrono::steady_clock;
    constexpr int rounds_a_log = 6;
    const Folder folder;
    std::mt19937 random(std::random_device{}());
    const std::string name = GetParam();
    if (command(name, folder / "show.db", 0).empty()) GTEST_SKIP() << "no recorded takes beside the source";
    // How long a run takes by itself; kills come anywhere in it.
    const auto start = Clock::now();
    bool ended = false;
    const auto whole = acknowledged(run_and_kill(command(name, folder / "whole.db", 0), std::chrono::minutes{2}, ended));
    ASSERT_TRUE(ended && !whole.empty()) << "the command itself does not run";
    const auto longest = std::chrono::duration_cast<std::chrono::microseconds>(Clock::now() - start).count();

    const int wanted = std::max(1, kills(24) / 3);
    int killed = 0, logs = 0;
    std::size_t logged = 0;
    std::map<std::string, std::string> by_hash;
    std::filesystem::path file;
    for (int round = 0; killed < wanted && round < 20 * wanted; ++round) {
        if (round % rounds_a_log == 0) {
            file = folder / ("show" + std::to_string(++logs) + ".db");
            by_hash.clear();
        }
        const auto wait = std::chrono::microseconds(std::uniform_int_distribution<long>(500, longest)(random));
        const auto got = acknowledged(run_and_kill(command(name, file, static_cast<unsigned>(round)), wait, ended));
        killed += ended ? 0 : 1;
        logged += got.size();
        for (const auto& [label, hash] : got) by_hash[hash] = hash;
        expect_all_there(file, by_hash);
        if (HasFatalFailure() || HasNonfatalFailure()) return;
        if (round % rounds_a_log == rounds_a_log - 1) {
            std::filesystem::remove_all(file);
            std::filesystem::remove_all(file.string() + ".takes");
        }
    }
    EXPECT_EQ(killed, wanted);
    RecordProperty("kills", killed);
    RecordProperty("acknowledged", static_cast<int>(logged));
    std::printf("%s: %d kills, %zu takes acknowledged, every one there\n", name.c_str(), killed, logged);
}

INSTANTIATE_TEST_SUITE_P(Commands, KillProgram, ::testing::Values("ingest", "rehearse", "take"),
                         [](const auto& shown) { return std::string{shown.param}; });

}  // namespace
}  // namespace proofwalk::log
