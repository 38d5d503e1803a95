// The design desk on the command line: estimates, and plan place, diff, draw, export, carry.
#include <cmath>

#include <gmock/gmock.h>

#include "cli/program.hpp"
#include "plan/example_text.hpp"

namespace proofwalk::cli_test {
namespace {

using ::testing::HasSubstr;

class Desk : public ProgramTest {
protected:
    std::string plan = in_folder("hall.toml");
    void SetUp() override { write_file(plan, plan::example_text); }
    std::string edited(const std::string& name, const std::string& old_text, const std::string& new_text) const {
        std::string text = plan::example_text;
        text.replace(text.find(old_text), old_text.size(), new_text);
        write_file(in_folder(name), text);
        return in_folder(name);
    }
};

TEST_F(Desk, EveryEstimateAnswersInJsonAndInWords) {
    const std::vector<std::vector<std::string>> commands = {
        {"triangle", "--right", "--a", "6", "--b", "22.5"},
        {"throw", "--height", "5", "--distance", "20"},
        {"vertical", "--height", "5", "--front", "3", "--back", "30", "--coverage", "60"},
        {"vertical", "--height", "5", "--front", "3", "--back", "30", "--plan", plan, "--model", "wide"},
        {"horizontal", "--at", "0,6,4.5", "--corner", "3,-8,1.2", "--corner", "3,8,1.2", "--corner", "21,10,1.2", "--corner", "21,-10,1.2", "--coverage", "90"},
        {"horizontal", "--plan", plan, "--box", "M1"},
        {"coverage", "--plan", plan, "--box", "M1"},
        {"splay", "--coverage", "60", "--quieter", "3", "--tilt", "-20"},
        {"splay", "--plan", plan, "--model", "wide"},
        {"spacing", "--depth", "2.5", "--coverage", "90", "--boxes", "5"},
        {"aim-in", "--spacing", "12", "--height", "5", "--near", "3", "--far", "21", "--near-width", "16", "--coverage-h", "90", "--coverage-v", "60"},
        {"delay", "--main-height", "4.3", "--height", "3.7", "--front", "4", "--back", "52", "--boxes", "2"},
        {"line", "--boxes", "4", "--trim", "7", "--front", "6", "--back", "30", "--splays", "0,2,5,9", "--tilts", "-4,0", "--per-circuit", "2"},
        {"subs", "--kind", "gradient", "--spacing", "0.9", "--high", "90"},
        {"pattern", "--plan", plan, "--model", "wide"},
        {"heard", "--plan", plan, "--position", "p3", "--together", "M1", "M2"},
        {"align", "--plan", plan, "--sub", "S", "--main", "M1", "--position", "p4"}};
    for (auto command : commands) {
        SCOPED_TRACE(::testing::PrintToString(command));
        command.insert(command.begin(), "estimate");
        const Outcome words = run(command);
        EXPECT_EQ(words.status, 0) << words.err;
        EXPECT_THAT(words.out, HasSubstr("\n"));
        EXPECT_EQ(words.out.find("nan"), std::string::npos);
        command.push_back("--json");
        const Outcome machine = run(command);
        ASSERT_EQ(machine.status, 0) << machine.err;
        const auto json = machine.json();
        EXPECT_EQ(json["format"], "proofwalk.estimate/1");
        EXPECT_FALSE(json["assumes"].is_null());
    }
}

TEST_F(Desk, FiguresAreTheWorkedOnes) {
    const auto triangle = run({"estimate", "triangle", "--right", "--a", "3", "--b", "4", "--json"}).json();
    EXPECT_NEAR(triangle["triangles"][0]["c_m"].get<double>(), 5.0, 1e-12);
    const auto splay = run({"estimate", "splay", "--coverage", "60", "--quieter", "3", "--json"}).json();
    EXPECT_NEAR(splay["figures"]["splay_deg"].get<double>(), 51.21320, 1e-5);
    const auto spacing = run({"estimate", "spacing", "--depth", "1", "--coverage", "90", "--json"}).json();
    EXPECT_NEAR(spacing["figures"]["spacing_m"].get<double>(), 1.50558, 1e-5);
    // Two right answers are both told.
    const auto twice = run({"estimate", "triangle", "--a", "6", "--b", "8", "--A", "40", "--json"}).json();
    EXPECT_EQ(twice["triangles"].size(), 2u);
    EXPECT_THAT(twice["says"][0].get<std::string>(), HasSubstr("Two triangles"));
}

TEST_F(Desk, TakesFeetAndInches) {
    const auto feet = run({"estimate", "throw", "--height", "16' 6\"", "--distance", "60", "--feet", "--json"}).json();
    EXPECT_NEAR(feet["figures"]["path_m"].get<double>(), std::hypot(16.5, 60.0) * 0.3048, 1e-9);
    EXPECT_THAT(run({"estimate", "throw", "--height", "16' 6\"", "--distance", "60", "--feet"}).out, HasSubstr("62' 2 3/4\""));
}

TEST_F(Desk, SaysWhyAnEstimateIsImpossible) {
    const struct { std::vector<std::string> command; const char* says; } cases[] = {
        {{"triangle", "--a", "2", "--b", "8", "--A", "40"}, "the shortest possible a is 5.14"},
        {{"vertical", "--height", "5", "--front", "-3", "--back", "30", "--coverage", "60"}, "behind or under it"},
        {{"vertical", "--height", "5", "--front", "3", "--back", "30"}, "coverage is not known"},
        {{"throw", "--height", "five", "--distance", "3"}, "no length"},
        {{"splay", "--coverage", "60", "--quieter", "7"}, "never takes over"},
        {{"line", "--trim", "2", "--front", "6", "--back", "30"}, "below the floor"},
        {{"subs", "--spacing", "4"}, "widest possible is 1.72 m"},
        {{"pattern", "--plan", plan, "--model", "wid"}, "did you mean \"wide\"?"},
        {{"heard", "--plan", plan, "--position", "p33"}, "did you mean \"p3\"?"},
        {{"horizontal", "--at", "0,0,4", "--corner", "5,5,1", "--corner", "-5,5,1", "--corner", "-5,-5,1", "--corner", "5,-5,1", "--coverage", "90"}, "behind the box"}};
    for (const auto& one : cases) {
        auto command = one.command;
        command.insert(command.begin(), "estimate");
        const Outcome outcome = run(command);
        EXPECT_EQ(outcome.status, 2) << ::testing::PrintToString(command);
        EXPECT_THAT(outcome.err, HasSubstr(one.says));
        EXPECT_EQ(outcome.out, "");
    }
}

TEST_F(Desk, PlacesMicsAndPredictsEachCheck) {
    const Outcome placed = run({"plan", "place", plan, "--out", in_folder("placed.toml"), "--json"});
    ASSERT_EQ(placed.status, 0) << placed.err;
    const auto json = placed.json();
    EXPECT_EQ(json["format"], "proofwalk.place/1");
    EXPECT_GE(json["positions"].size(), 5u);
    EXPECT_FALSE(json["predicted"].empty());
    EXPECT_EQ(run({"plan", "check", in_folder("placed.toml")}).status, 0);
    // A position moved away from where it does its work costs accuracy.
    const auto moved = run({"plan", "place", plan, "--as-it-is", "--move", "p3=13.0,4.0,1.2", "--json"}).json();
    bool worse = false;
    for (const auto& check : moved["predicted"])
        if (check["check"] == "aim-h" && check["subject"] == "M1" && check["before_u"].is_number() && check["after_u"].is_number()) worse = check["after_u"] > check["before_u"];
    EXPECT_TRUE(worse);
    EXPECT_EQ(run({"plan", "place", plan, "--move", "p9=1,2,3"}).status, 2);
    // By tape from the stage's corners, 8 m either side of the middle: 10 m and 10 m meet 6 m out in the middle.
    const auto taped = run({"plan", "place", plan, "--as-it-is", "--move", "p3=tape:10,10,1.2", "--json"}).json();
    for (const auto& position : taped["positions"])
        if (position["position"] == "p3") {
            EXPECT_NEAR(position["at"][0].get<double>(), 6.0, 1e-9);
            EXPECT_NEAR(position["at"][1].get<double>(), 0.0, 1e-9);
        }
    EXPECT_EQ(run({"plan", "place", plan, "--as-it-is", "--move", "p3=tape:1,2,1.2"}).status, 2);
}

TEST_F(Desk, TellsTwoPlansApart) {
    const std::string other = edited("later.toml", "tilt_deg = -12.0", "tilt_deg = -16.0");
    const Outcome words = run({"plan", "diff", plan, other});
    EXPECT_EQ(words.status, 0);
    EXPECT_THAT(words.out, HasSubstr("tilted down by 4.00 deg, from -12.00 to -16.00 deg"));
    const auto json = run({"plan", "diff", plan, other, "--json"}).json();
    EXPECT_EQ(json["format"], "proofwalk.diff/1");
    EXPECT_EQ(json["differences"].size(), 1u);
    bool reopened = false;
    for (const auto& check : json["checks"]) reopened |= check["check"] == "aim-h" && check["subject"] == "M1" && check["change"] == "reopened";
    EXPECT_TRUE(reopened);
    EXPECT_THAT(run({"plan", "diff", plan, plan}).out, HasSubstr("say the same"));
    EXPECT_EQ(run({"plan", "diff", plan, in_folder("none.toml")}).status, 2);
}

TEST_F(Desk, WritesDrawingAndSheets) {
    EXPECT_EQ(run({"plan", "draw", plan, "--out", in_folder("hall.svg")}).status, 0);
    EXPECT_THAT(slurp(in_folder("hall.svg")), HasSubstr("<svg"));
    EXPECT_EQ(run({"plan", "export", plan, "--out", in_folder("paper"), "--feet"}).status, 0);
    EXPECT_THAT(slurp(in_folder("paper/sheets.html")), HasSubstr("competent riggers"));
    EXPECT_THAT(slurp(in_folder("paper/rigging.csv")), HasSubstr("M1,wide"));
    EXPECT_THAT(slurp(in_folder("paper/mics.csv")), HasSubstr("tape A"));
    EXPECT_THAT(slurp(in_folder("paper/patch.csv")), HasSubstr("M2"));
    EXPECT_EQ(run({"estimate", "spacing", "--depth", "2", "--draw", in_folder("row.svg")}).status, 0);
    EXPECT_THAT(slurp(in_folder("row.svg")), HasSubstr("<svg"));
}

TEST_F(Desk, CarriesARigToAnotherVenue) {
    write_file(in_folder("venue.toml"), "format = \"proofwalk.plan/1\"\nname = \"Another Hall\"\n[[area]]\nid = \"floor\"\nnear = [4, 0, 1.2]\nfar = [30, 0, 1.8]\nnear_width_m = 20\nfar_width_m = 22\n");
    const Outcome carried = run({"plan", "carry", plan, in_folder("venue.toml"), "--out", in_folder("next.toml")});
    ASSERT_EQ(carried.status, 0) << carried.err;
    EXPECT_THAT(carried.err, HasSubstr("who hangs the rig"));
    const Outcome check = run({"plan", "check", in_folder("next.toml")});
    EXPECT_EQ(check.status, 0) << check.err;
    EXPECT_THAT(check.out, HasSubstr("Another Hall"));
}

}  // namespace
}  // namespace proofwalk::cli_test
