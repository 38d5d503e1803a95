// The walk as a person does it: rehearse, look, decide, sign, report.
#include "cli/program.hpp"

namespace proofwalk::cli_test {
namespace {

using nlohmann::json;

const std::string small_plan = (source / "fixtures/small/plan.toml").string();

class Walk : public ProgramTest {
protected:
    std::string log = in_folder("show.db");

    void rehearse(const std::vector<std::string>& more = {}) {
        std::vector<std::string> arguments = {"rehearse", small_plan, "--log", log, "--seed", "3"};
        arguments.insert(arguments.end(), more.begin(), more.end());
        const Outcome done = run(arguments);
        ASSERT_EQ(done.status, 0) << done.err;
        EXPECT_NE(done.out.find("logged r01 "), std::string::npos) << done.out;
    }
    [[nodiscard]] json check(const std::string& kind, const std::string& subject) const {
        const json tally = run({"tally", log, "--json"}).json();
        for (const auto& item : tally["checks"])
            if (item["check"] == kind && item["subject"] == subject) return item;
        ADD_FAILURE() << kind << " of " << subject << " is not in the tally";
        return {};
    }
    [[nodiscard]] std::vector<std::string> exceptions() const {
        std::vector<std::string> list;
        const json tally = run({"tally", log, "--json"}).json();
        for (const auto& item : tally["checks"])
            if (item["verdict"] != "pass") {
                list.push_back("--except");
                list.push_back(item["check"].get<std::string>() + ":" + item["subject"].get<std::string>());
            }
        return list;
    }
    [[nodiscard]] std::string first_box() const {
        return run({"plan", "show", small_plan, "--json"}).json()["boxes"][0]["box"];
    }
};

TEST_F(Walk, EveryCommandHasHelpWithAnExample) {
    for (const std::string command : {"rehearse", "ingest", "take", "tally", "readings", "skip", "change", "sign", "report",
                                      "recheck", "devices"}) {
        const Outcome help = run({command, "--help"});
        EXPECT_EQ(help.status, 0) << command;
        EXPECT_NE(help.out.find("Example: proofwalk " + command), std::string::npos) << command << "\n" << help.out;
    }
}

TEST_F(Walk, AFaultIsFoundChangedAndFoundGone) {
    const std::string box = first_box();
    rehearse({"--fault", box + ":polarity"});
    EXPECT_EQ(check("polarity", box)["verdict"], "fail");
    EXPECT_EQ(check("polarity", box)["value"], -1);
    EXPECT_EQ(run({"tally", log, "--strict"}).status, 1);
    EXPECT_EQ(run({"tally", log}).status, 0);

    const Outcome changed = run({"change", log, box, "--who", "R. Walker", "--what", "swapped the pins of its cable"});
    EXPECT_EQ(changed.status, 0) << changed.err;
    EXPECT_EQ(check("polarity", box)["verdict"], "open");

    rehearse();
    EXPECT_EQ(check("polarity", box)["verdict"], "pass");
    EXPECT_EQ(run({"recheck", log}).status, 0);
}

TEST_F(Walk, ASkipIsNeverAPassAndIsTakenUpAgain) {
    rehearse();
    const std::string box = first_box();
    EXPECT_EQ(run({"skip", log, "level", box, "--who", "R. Walker"}).status, 2) << "a skip without a reason";
    EXPECT_EQ(run({"skip", log, "level", "nobody", "--who", "R. Walker", "--why", "x"}).status, 2);
    const Outcome skipped = run({"skip", log, "level", box, "--who", "R. Walker", "--why", "no time"});
    ASSERT_EQ(skipped.status, 0) << skipped.err;
    const json after = check("level", box);
    EXPECT_EQ(after["verdict"], "skipped");
    EXPECT_NE(after["says"].get<std::string>().find("R. Walker"), std::string::npos);
    EXPECT_NE(after["says"].get<std::string>().find("no time"), std::string::npos);
    rehearse({"--snr", "41"});
    EXPECT_NE(check("level", box)["verdict"], "skipped");
}

TEST_F(Walk, SigningNeedsEveryExceptionByName) {
    rehearse();
    const std::string box = first_box();
    ASSERT_EQ(run({"skip", log, "level", box, "--who", "R. Walker", "--why", "no time"}).status, 0);
    const Outcome refused = run({"sign", log, "--who", "C. Lead", "--role", "crew lead"});
    EXPECT_EQ(refused.status, 2);
    EXPECT_NE(refused.err.find("--except level:" + box), std::string::npos) << refused.err;
    std::vector<std::string> arguments = {"sign", log, "--who", "C. Lead", "--role", "crew lead"};
    const auto named = exceptions();
    arguments.insert(arguments.end(), named.begin(), named.end());
    const Outcome signed_off = run(arguments);
    EXPECT_EQ(signed_off.status, 0) << signed_off.err;
    EXPECT_NE(signed_off.out.find("hash "), std::string::npos);

    const Outcome report = run({"report", log, "--out", in_folder("report")});
    ASSERT_EQ(report.status, 0) << report.err;
    const std::string page = slurp(folder / "report/index.html");
    EXPECT_NE(page.find("C. Lead"), std::string::npos);
    EXPECT_NE(page.find("no time"), std::string::npos);
    EXPECT_EQ(page.find("http://"), page.find("http://www.w3.org")) << "the page must not load anything from outside";
}

TEST_F(Walk, SameSeedSameTally) {
    rehearse();
    const json first = run({"tally", log, "--json"}).json();
    const std::string other = in_folder("other.db");
    ASSERT_EQ(run({"rehearse", small_plan, "--log", other, "--seed", "3"}).status, 0);
    EXPECT_EQ(run({"tally", other, "--json"}).json()["checks"], first["checks"]);
}

}  // namespace
}  // namespace proofwalk::cli_test
