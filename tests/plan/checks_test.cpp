#include "plan/checks.hpp"

#include <filesystem>
#include <fstream>
#include <regex>
#include <set>
#include <sstream>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "plan/example.hpp"

namespace proofwalk::plan {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;

std::vector<std::string> named(const std::vector<PlannedCheck>& all) {
    std::vector<std::string> names;
    for (const PlannedCheck& check : all) names.push_back(std::string(word(check.kind)) + " " + check.subject);
    return names;
}

const PlannedCheck& find(const std::vector<PlannedCheck>& all, CheckKind kind, const std::string& subject) {
    for (const PlannedCheck& check : all)
        if (check.kind == kind && check.subject == subject) return check;
    static const PlannedCheck none;
    ADD_FAILURE() << word(kind) << ' ' << subject;
    return none;
}

TEST(Checks, FollowFromThePlanInOrder) {
    const Plan plan = plan_from(example_text);
    EXPECT_THAT(named(checks(plan)),
                ElementsAre("sounding M1", "sounding M2", "sounding FF", "sounding S",                                      //
                            "polarity M1", "response M1", "level M1", "arrival M1", "aim-h M1",                             //
                            "polarity M2", "response M2", "level M2", "arrival M2",                                         //
                            "polarity F1", "response F1", "level F1", "arrival F1",                                         //
                            "polarity F2", "response F2", "level F2", "arrival F2",                                         //
                            "polarity S", "response S", "level S", "arrival S",                                             //
                            "spacing M1+M2", "crossover M1+M2", "alignment M1+M2",                                          //
                            "spacing S+M1", "crossover S+M1", "alignment S+M1"));  // F1 and F2 share a circuit
}

TEST(Checks, SayWhatTheyNeed) {
    const Plan plan = plan_from(example_text);
    const auto all = checks(plan);
    const PlannedCheck& aim = find(all, CheckKind::aim_h, "M1");
    EXPECT_THAT(aim.positions, ElementsAre("p1", "p3"));
    EXPECT_EQ(aim.band_hz, (Band{2000, 8000}));
    const PlannedCheck& spacing = find(all, CheckKind::spacing, "M1+M2");
    EXPECT_THAT(spacing.positions, ElementsAre("p1", "p2", "p3"));
    EXPECT_THAT(spacing.circuits, ElementsAre("M1", "M2"));
    EXPECT_EQ(spacing.array, "mains");
    EXPECT_EQ(find(all, CheckKind::crossover, "S+M1").band_hz, (Band{60, 120}));
    EXPECT_EQ(find(all, CheckKind::response, "S").band_hz, (Band{35, 120}));
    const PlannedCheck& fills = find(all, CheckKind::sounding, "FF");
    EXPECT_THAT(fills.boxes, ElementsAre("F1", "F2"));
    EXPECT_THAT(fills.positions, ElementsAre("p4"));
    EXPECT_THAT(fills.missing, IsEmpty());
}

TEST(Checks, AreAskedEvenWithoutAPosition) {
    const Plan plan = plan_from(example_with("role = \"on-axis\", boxes = [\"M2\"]", "role = \"top-edge\", boxes = [\"M2\"]"));
    const auto all = checks(plan);
    EXPECT_THAT(find(all, CheckKind::polarity, "M2").missing, ElementsAre("on-axis of M2"));
    EXPECT_THAT(find(all, CheckKind::arrival, "M2").positions, ElementsAre("p3"));  // its crossover will do
    EXPECT_THAT(find(all, CheckKind::aim_v, "M2").missing, ElementsAre("on-axis of M2"));
    EXPECT_THAT(find(all, CheckKind::spacing, "M1+M2").missing, ElementsAre("on-axis of M2"));
}

TEST(Checks, JudgeAPairOnceAndByEachKindOfArray) {
    const Plan plan = plan_from(example_text + "[[array]]\nid = \"again\"\nkind = \"coupled\"\nboxes = [\"M2\", \"M1\"]\n");
    const auto names = named(checks(plan));
    EXPECT_EQ(std::ranges::count(names, "crossover M1+M2"), 1);
    EXPECT_EQ(std::ranges::count(names, "splay M1+M2"), 1);
    EXPECT_EQ(std::ranges::count(names, "spacing M1+M2"), 1);
    EXPECT_EQ(std::ranges::count(names, "crossover M2+M1"), 0);
}

TEST(Checks, DelayChainsAskForCrossoverAndAlignmentOnly) {
    const Plan plan = plan_from(example_with("kind = \"uncoupled\"\nboxes = [\"M1\", \"M2\"]", "kind = \"delay\"\nboxes = [\"M1\", \"M2\"]"));
    const auto names = named(checks(plan));
    EXPECT_EQ(std::ranges::count(names, "spacing M1+M2"), 0);
    EXPECT_EQ(std::ranges::count(names, "splay M1+M2"), 0);
    EXPECT_EQ(std::ranges::count(names, "alignment M1+M2"), 1);
}

TEST(Checks, NoAimOrSplayOfAnOmniBox) {
    const Plan plan = plan_from(example_text + "[[array]]\nid = \"odd\"\nkind = \"coupled\"\nboxes = [\"S\", \"M2\"]\nband_hz = [60.0, 120.0]\n" +
                                "[[position]]\nid = \"p9\"\nat = [5.0, 1.0, 1.2]\nserves = [{ role = \"left-edge\", boxes = [\"S\"] }]\n");
    const auto names = named(checks(plan));
    EXPECT_EQ(std::ranges::count(names, "aim-h S"), 0);
    EXPECT_EQ(std::ranges::count(names, "splay S+M2"), 0);
    EXPECT_EQ(std::ranges::count(names, "crossover S+M2"), 1);
}

TEST(Checks, LineArraysAreAskedPerCircuit) {
    std::string text = "format = \"proofwalk.plan/1\"\nname = \"Line\"\n[[model]]\nid = \"el\"\ncoverage_h_deg = 90\ncoverage_v_deg = 12\n"
                       "aim_band_hz = [2000, 8000]\nrange_hz = [60, 18000]\n";
    for (int i = 1; i <= 4; ++i)
        text += "[[box]]\nid = \"E" + std::to_string(i) + "\"\nmodel = \"el\"\nat = [0.0, 0.0, " + std::to_string(9 - i) + ".0]\ntilt_deg = -" +
                std::to_string(3 * i) + "\ncircuit = \"" + (i < 3 ? "top" : "bottom") + "\"\n";
    text += "[[array]]\nid = \"hang\"\nkind = \"line\"\nboxes = [\"E1\", \"E2\", \"E3\", \"E4\"]\n";
    const auto names = named(checks(plan_from(text)));
    EXPECT_EQ(std::ranges::count_if(names, [](const std::string& name) { return name.starts_with("splay"); }), 1);
    EXPECT_EQ(std::ranges::count(names, "splay E2+E3"), 1);
    EXPECT_EQ(std::ranges::count(names, "sounding top"), 1);
}

TEST(PairBand, IsTheOverlapOfTheAimBandsUnlessGiven) {
    Plan plan = plan_from(example_text);
    plan.models[0].aim_band_hz = {1500, 6000};
    Model other = plan.models[0];
    other.id = "other";
    other.aim_band_hz = {2500, 9000};
    plan.models.push_back(other);
    plan.boxes[1].model = "other";
    EXPECT_EQ(pair_band(plan, plan.arrays[0], plan.boxes[0], plan.boxes[1]), (Band{2500, 6000}));
    plan.models.back().aim_band_hz = {7000, 9000};  // no aim band in common: what both play
    EXPECT_EQ(pair_band(plan, plan.arrays[0], plan.boxes[0], plan.boxes[1]), (Band{60, 18000}));
    plan.arrays[0].band_hz = Band{100, 200};
    EXPECT_EQ(pair_band(plan, plan.arrays[0], plan.boxes[0], plan.boxes[1]), (Band{100, 200}));
}

TEST(Words, GoBothWays) {
    for (int i = 0; i < 11; ++i) {
        const auto kind = static_cast<CheckKind>(i);
        EXPECT_EQ(check_from_word(word(kind)), kind);
    }
    EXPECT_EQ(check_from_word("aim"), std::nullopt);
    EXPECT_EQ(word(CheckKind::aim_h), "aim-h");
    for (const auto name : role_names()) EXPECT_EQ(word(*role_from_word(name)), name);
    for (const auto name : array_kind_names()) EXPECT_EQ(word(*array_kind_from_word(name)), name);
}

// The checks that another hand lists for the same plans, in the same order; those whose needs the takes do not meet
// ("needs_met": false) may be listed there without a position of the plan asking for them.
TEST(Checks, AgreeWithTheSharedCases) {
    const std::filesystem::path cases = PROOFWALK_SOURCE_DIR "/../shared/cases";
    if (!std::filesystem::exists(cases)) GTEST_SKIP() << "no shared cases beside the source";
    for (const auto& folder : std::filesystem::directory_iterator(cases)) {
        if (!folder.is_directory()) continue;
        const auto found = load(folder.path() / "plan.toml");
        ASSERT_TRUE(found);
        std::ifstream file(folder.path() / "truth.json");
        std::stringstream text;
        text << file.rdbuf();
        const std::string truth = text.str();
        const std::regex entry(R"re("check": "([^"]+)",\s*"subject": "([^"]+)"[\s\S]*?"needs_met": (true|false))re");
        std::vector<std::string> wanted;
        for (std::sregex_iterator match(truth.begin(), truth.end(), entry), end; match != end; ++match)
            if ((*match)[3] == "true") wanted.push_back((*match)[1].str() + " " + (*match)[2].str());
        EXPECT_THAT(named(checks(found->plan)), testing::ElementsAreArray(wanted)) << folder.path();
    }
}

}  // namespace
}  // namespace proofwalk::plan
