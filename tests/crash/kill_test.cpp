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
    std::this_thread::sleep_for(wait);
    ::kill(child, SIGKILL);
    int status = 0;
    ::waitpid(child, &status, 0);
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

TEST(Kill, TheProgramItselfLosesNothing) {
    const std::filesystem::path set = PROOFWALK_SOURCE_DIR "/../shared/cases/one-box-low";
    if (!std::filesystem::exists(set / "takes.toml")) GTEST_SKIP() << "no recorded takes beside the source";
    std::mt19937 random(std::random_device{}());
    const auto ingest = [&](const std::filesystem::path& log) {
        return std::vector<std::string>{PROOFWALK_PROGRAM, "ingest", (set / "plan.toml").string(), (set / "takes.toml").string(), "--log",
                                        log.string()};
    };
    int killed = 0, logged = 0;
    const int wanted = std::max(1, kills(60) / 10);
    for (int round = 0; killed < wanted && round < 20 * wanted; ++round) {
        const Folder folder;
        bool ended = false;
        const auto wait = std::chrono::microseconds(std::uniform_int_distribution<int>(1'000, 900'000)(random));
        const auto got = acknowledged(run_and_kill(ingest(folder / "show.db"), wait, ended));
        killed += ended ? 0 : 1;
        logged += static_cast<int>(got.size());
        expect_all_there(folder / "show.db", got);
        if (HasFatalFailure()) return;
    }
    RecordProperty("kills", killed);
    RecordProperty("acknowledged", logged);
}

}  // namespace
}  // namespace proofwalk::log
