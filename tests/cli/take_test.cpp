// The take command in the simulated room: what a person types, and the keys while a sequence runs.
#include <gmock/gmock.h>
#include <poll.h>
#include <pty.h>
#include <unistd.h>

#include <chrono>

#include "program.hpp"

namespace proofwalk::cli_test {
namespace {

using testing::HasSubstr;
using testing::Not;

class Take : public ProgramTest {
protected:
    const std::string plan = (source / "fixtures/small/plan.toml").string();

    [[nodiscard]] Outcome take(const std::vector<std::string>& more, const std::string& log = "show.db") const {
        std::vector<std::string> arguments = {"take", plan, "--log", in_folder(log), "--device", "rehearsal"};
        arguments.insert(arguments.end(), more.begin(), more.end());
        return run(arguments);
    }
    static std::size_t logged(const Outcome& outcome) {
        std::size_t count = 0;
        for (auto at = outcome.out.find("logged "); at != std::string::npos; at = outcome.out.find("logged ", at + 1)) ++count;
        return count;
    }
};

TEST_F(Take, ASequenceTakesTheNoiseAndWhatIsLeft) {
    const Outcome first = take({"--all", "--mics", "q1,q2", "--armed", "R. Walker", "--count-in", "0", "--repeats", "0"});
    EXPECT_EQ(first.status, 0) << first.err;
    EXPECT_EQ(logged(first), 3u) << first.out;
    EXPECT_THAT(first.out, HasSubstr("logged silence-"));
    EXPECT_THAT(first.err, HasSubstr("Caution"));
    const Outcome again = take({"--all", "--armed", "R. Walker", "--count-in", "0"});
    EXPECT_EQ(logged(again), 0u) << "mics and reference come from the log, and nothing is left";
    EXPECT_THAT(again.err, HasSubstr("Nothing is left"));
    const Outcome one = take({"--circuit", "CB", "--armed", "R. Walker"});
    EXPECT_EQ(one.status, 0) << one.err;
    EXPECT_EQ(logged(one), 1u);
}

TEST_F(Take, OverlappedCircuitsAreReadOneByOne) {
    const Outcome both = take({"--circuit", "CA,CB", "--overlap", "--mics", "q1", "--armed", "R. Walker"});
    EXPECT_EQ(both.status, 0) << both.err;
    EXPECT_EQ(logged(both), 1u);
    const auto readings = run({"readings", in_folder("show.db"), "--json"}).json()["readings"];
    ASSERT_EQ(readings.size(), 2u);
    EXPECT_EQ(readings[0]["circuit"], "CA");
    EXPECT_EQ(readings[1]["circuit"], "CB");
    EXPECT_EQ(run({"recheck", in_folder("show.db")}).status, 0);
}

TEST_F(Take, ACalibratorMakesLevelsKnownAndTheHallIsAskedFor) {
    const Outcome calibrated = take({"--kind", "calibrator", "--output", "1", "--reference", "1", "--mics", "2", "--armed", "R. Walker"});
    EXPECT_EQ(calibrated.status, 0) << calibrated.err;
    const Outcome loud = take({"--circuit", "CA", "--mics", "2=q1", "--level", "-6", "--armed", "R. Walker", "--ceiling-dba", "60"});
    EXPECT_EQ(loud.status, 0) << loud.err;
    EXPECT_THAT(loud.err, HasSubstr("louder would be too much where a person may stand"));
    EXPECT_THAT(loud.err, Not(HasSubstr("is unknown")));
}

// The simulated room's loopback is a wire and some hiss: the chain has to pass.
TEST_F(Take, ALoopbackProvesTheChain) {
    for (int turn = 0; turn < 2; ++turn) {
        const Outcome loop = take({"--kind", "loopback", "--output", "1", "--reference", "1", "--mics", "2", "--armed", "R. Walker"});
        EXPECT_EQ(loop.status, 0) << loop.err;
    }
    const auto gear = run({"gear", in_folder("show.db"), "--who", "R. Walker", "--json"}).json();
    EXPECT_TRUE(gear["fault"].is_null()) << gear.dump(1);
    std::size_t loopbacks = 0;
    for (const auto& check : gear["checks"])
        if (check["check"] == "loopback") {
            EXPECT_EQ(check["verdict"], "pass") << check.dump(1);
            ++loopbacks;
        }
    EXPECT_EQ(loopbacks, 3u);
}

TEST_F(Take, RefusesWhatItCannotMean) {
    EXPECT_THAT(take({"--circuit", "CX", "--mics", "q1", "--armed", "R. Walker"}).err, HasSubstr("the plan has no circuit \"CX\""));
    EXPECT_THAT(take({"--circuit", "CA", "--mics", "zz", "--armed", "R. Walker"}).err, HasSubstr("the plan has no position \"zz\""));
    EXPECT_THAT(take({"--circuit", "CA", "--armed", "R. Walker"}).err, HasSubstr("no mic is named"));
    EXPECT_THAT(take({"--circuit", "CA,CB", "--output", "1,2,3", "--mics", "q1", "--armed", "R. Walker"}).err, HasSubstr("3 outputs for 2 circuits"));
    EXPECT_THAT(take({"--mics", "q1", "--armed", "R. Walker"}).err, HasSubstr("no circuit is named"));
    EXPECT_THAT(take({"--circuit", "CA", "--mics", "q1", "--level", "-2", "--armed", "R. Walker"}).err, HasSubstr("ceiling"));
    EXPECT_THAT(take({"--circuit", "CA", "--mics", "q1", "--armed", " "}).err, HasSubstr("named person"));
    EXPECT_FALSE(fs::exists(folder / "show.takes"));
}

// The program on a terminal of its own; each answer is typed once its prompt is there.
TEST_F(Take, KeysArmPauseSkipAndStop) {
    const std::vector<std::pair<std::string, std::string>> script = {
        {"Type your name", "R. Walker\n"}, {"silence in", " "}, {"Paused before silence", "\n"}, {"silence in 9 s", "\n"}, {"CA in", "s"}, {"CB in", "q"}};
    int terminal = -1;
    const pid_t id = forkpty(&terminal, nullptr, nullptr, nullptr);
    ASSERT_GE(id, 0);
    if (id == 0) {
        const std::string log = in_folder("keys.db");
        execl(program.c_str(), program.c_str(), "take", plan.c_str(), "--log", log.c_str(), "--device", "rehearsal", "--length", "0.5", "--all", "--mics", "q1,q2",
              "--count-in", "9", static_cast<char*>(nullptr));
        _exit(127);
    }
    std::string said;
    std::size_t typed = 0, from = 0;
    const auto until = std::chrono::steady_clock::now() + std::chrono::seconds(120);
    while (std::chrono::steady_clock::now() < until) {
        pollfd there{terminal, POLLIN, 0};
        if (poll(&there, 1, 50) > 0) {
            std::array<char, 4096> bytes{};
            const ssize_t got = read(terminal, bytes.data(), bytes.size());
            if (got <= 0) break;
            said.append(bytes.data(), static_cast<std::size_t>(got));
        }
        if (typed < script.size()) {
            if (const auto at = said.find(script[typed].first, from); at != std::string::npos) {
                from = at + script[typed].first.size();
                usleep(100'000);  // the terminal is ready for keys a moment after the prompt
                ASSERT_EQ(write(terminal, script[typed].second.data(), script[typed].second.size()), static_cast<ssize_t>(script[typed].second.size()));
                ++typed;
            }
        }
    }
    int status = 0;
    waitpid(id, &status, 0);
    close(terminal);
    EXPECT_EQ(typed, script.size()) << said;
    EXPECT_EQ(WEXITSTATUS(status), 0) << said;
    EXPECT_THAT(said, HasSubstr("logged silence-"));
    EXPECT_THAT(said, Not(HasSubstr("logged CA-")));
    EXPECT_THAT(said, HasSubstr("Not taken: CA, CB"));
}

}  // namespace
}  // namespace proofwalk::cli_test
