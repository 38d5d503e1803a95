// Why a check came out as it did, from the command line.
#include "cli/program.hpp"

namespace proofwalk::cli_test {
namespace {

class Explain : public ProgramTest {};

TEST_F(Explain, ACheckAloneIsTaught) {
    const Outcome taught = run({"explain", "aim-v"});
    EXPECT_EQ(taught.status, 0) << taught.err;
    EXPECT_NE(taught.out.find("Goes wrong"), std::string::npos) << taught.out;
    EXPECT_EQ(run({"explain", "aim-v", "--json"}).json()["teaching"][0]["checks"][1], "aim-v");
    EXPECT_EQ(run({"explain", "nonsense"}).status, 2);
    EXPECT_EQ(run({"explain", "aim-v", "--draw", in_folder("a.svg")}).status, 2);
}

TEST_F(Explain, AFailedCheckIsComparedBudgetedAndDrawn) {
    const std::string log = in_folder("show.db"), plan = (source / "fixtures/small/plan.toml").string();
    ASSERT_EQ(run({"rehearse", plan, "--log", log, "--seed", "3"}).status, 0);
    const auto tally = run({"tally", log, "--json"}).json();
    for (const auto& check : tally["checks"]) {
        if (check["check"] != "arrival") continue;
        const std::string subject = check["subject"];
        const Outcome told = run({"explain", "arrival:" + subject, log, "--json", "--draw", in_folder("why.svg")});
        ASSERT_EQ(told.status, 0) << told.err;
        const auto why = told.json()["checks"][0];
        EXPECT_EQ(why["verdict"], check["verdict"]);
        EXPECT_EQ(why["value"], check["value"]);
        EXPECT_FALSE(why["compared"].empty());
        EXPECT_TRUE(fs::exists(in_folder("why.svg")));
        EXPECT_EQ(run({"explain", subject, log}).status, 0);
        break;
    }
    EXPECT_EQ(run({"explain", "nobody", log}).status, 2);
}

}  // namespace
}  // namespace proofwalk::cli_test
