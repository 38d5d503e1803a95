// Recorded sets with known truth, made by another hand, through the real program.
#include <cmath>
#include <map>
#include <set>

#include "cli/program.hpp"

namespace proofwalk::cli_test {
namespace {

using nlohmann::json;

std::vector<fs::path> sets() {
    std::vector<fs::path> found;
    if (!fs::exists(shared / "cases")) return found;
    for (const auto& entry : fs::directory_iterator(shared / "cases"))
        if (fs::exists(entry.path() / "truth.json")) found.push_back(entry.path());
    return found;
}

class Cases : public ProgramTest {};

TEST_F(Cases, AreJudgedRightly) {
    if (sets().empty()) GTEST_SKIP() << "no recorded sets beside the project (../shared/cases)";
    int settled = 0, unsettled = 0;
    for (const auto& set : sets()) {
        SCOPED_TRACE(set.filename().string());
        const std::string log = in_folder(set.filename().string() + ".db");
        const Outcome ingested = run({"ingest", (set / "plan.toml").string(), (set / "takes.toml").string(), "--log", log});
        ASSERT_EQ(ingested.status, 0) << ingested.err;
        const json truth = json::parse(slurp(set / "truth.json"));
        const json tally = run({"tally", log, "--json"}).json();
        std::map<std::pair<std::string, std::string>, json> judged;
        for (const auto& check : tally["checks"]) judged[{check["check"], check["subject"]}] = check;
        for (const auto& check : truth["checks"]) {
            const std::pair<std::string, std::string> key{check["check"], check["subject"]};
            // What the plan gives no position for is not asked (an aim without an edge of its axis).
            if (!judged.contains(key) && check["needs_met"] == false) continue;
            ASSERT_TRUE(judged.contains(key)) << key.first << " " << key.second;
            const json& verdict = judged[key];
            const std::string said = verdict["verdict"], wanted = check["class"];
            const std::string told = key.first + " of " + key.second + ": " + verdict.dump();
            EXPECT_FALSE(wanted == "in" && said == "fail") << told;
            EXPECT_FALSE((wanted == "out" || wanted == "dead") && said == "pass") << told;
            if ((wanted == "in" || wanted == "out") && check["needs_met"] == true) {
                ++settled;
                if (said != "pass" && said != "fail") ++unsettled;
                EXPECT_TRUE(wanted != "out" || said == "fail") << told;
            }
        }
        const Outcome again = run({"ingest", (set / "takes.toml").string(), "--log", log});
        EXPECT_EQ(again.status, 0) << again.err;
        EXPECT_EQ(run({"tally", log, "--json"}).json(), tally) << "taking the same recordings in twice changed something";
        const Outcome rechecked = run({"recheck", log});
        EXPECT_EQ(rechecked.status, 0) << rechecked.out << rechecked.err;
    }
    EXPECT_LE(unsettled * 10, settled) << unsettled << " of " << settled << " are not settled";
}

}  // namespace
}  // namespace proofwalk::cli_test
