#include "plan/read.hpp"

#include <algorithm>
#include <fstream>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "plan/example.hpp"
#include "units/sha256.hpp"

namespace proofwalk::plan {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;

std::vector<std::string> faults_of(const std::string& text) {
    const auto found = read(text, "plan.toml", ".");
    std::vector<std::string> sentences;
    if (!found)
        for (const Fault& fault : found.error()) sentences.push_back(sentence(fault));
    return sentences;
}

int line_of_text(const std::string& text, const std::string& part) {
    const auto at = text.find(part);
    return 1 + static_cast<int>(std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(at), '\n'));
}

TEST(Read, TakesEveryKey) {
    const auto found = read(example_text, "plan.toml", ".");
    ASSERT_TRUE(found);
    const Plan& plan = found->plan;
    EXPECT_EQ(plan.name, "Example Hall");
    EXPECT_EQ(plan.air.humidity_pct, 60.0);
    EXPECT_EQ(plan.air.pressure_kpa, 101.325);
    EXPECT_EQ(plan.drive_latency_ms, 1.8);
    EXPECT_EQ(plan.rules.aim_deg, 2.0);
    EXPECT_EQ(plan.rules.mic_match_db, 0.2);
    ASSERT_EQ(plan.models.size(), 2u);
    EXPECT_EQ(plan.models[0].pattern, Pattern::beam);
    EXPECT_EQ(plan.models[0].size_m, (Vec3{0.40, 0.70, 0.42}));
    EXPECT_EQ(plan.models[1].pattern, Pattern::omni);
    EXPECT_EQ(plan.box("M2")->gain_db, -1.5);
    EXPECT_EQ(plan.box("M2")->circuit, "M2");
    EXPECT_EQ(plan.box("F1")->circuit, "FF");
    EXPECT_EQ(plan.box("M1")->output, 1);
    EXPECT_EQ(plan.position("p3")->place_u_m, 0.05);
    EXPECT_EQ(plan.position("p3")->serves.size(), 2u);
    EXPECT_EQ(plan.arrays[2].band_hz, (Band{60.0, 120.0}));
    EXPECT_THAT(plan.circuits(), testing::ElementsAre("M1", "M2", "FF", "S"));
    EXPECT_EQ(found->bytes, example_text);
    EXPECT_EQ(found->sha256, sha256(example_text));
    for (const Model& model : plan.models) EXPECT_NE(model.pattern_loss, nullptr);
}

TEST(Read, TellsAllFaultsInOneRunByLine) {
    std::string text = example_with("gain_db = -1.5", "gian_db = -1.5");
    text.replace(text.find("humidity_pct = 60.0"), 19, "humidity_pct = 160.0");
    text.replace(text.find("role = \"crossover\""), 18, "role = \"crosover\"");
    const auto faults = faults_of(text);
    ASSERT_EQ(faults.size(), 3u);
    EXPECT_THAT(faults[0], HasSubstr("line 5: [air]: humidity_pct = 160 is out of range"));
    EXPECT_EQ(faults[1], "plan.toml, line " + std::to_string(line_of_text(text, "gian_db")) + ": unknown key \"gian_db\" in [[box]]; did you mean \"gain_db\"?");
    EXPECT_THAT(faults[2], HasSubstr("unknown role \"crosover\""));
    EXPECT_THAT(faults[2], HasSubstr("did you mean \"crossover\"?"));
}

struct Bad {
    const char* name;
    const char* old_text;
    const char* new_text;
    const char* says;
    const char* remedy = "";
};

class BadPlan : public testing::TestWithParam<Bad> {};

TEST_P(BadPlan, GetsOneSentenceThatNamesLineAndReason) {
    const Bad& bad = GetParam();
    const auto faults = faults_of(example_with(bad.old_text, bad.new_text));
    ASSERT_EQ(faults.size(), 1u) << testing::PrintToString(faults);
    EXPECT_THAT(faults[0], HasSubstr("plan.toml"));
    EXPECT_THAT(faults[0], HasSubstr(bad.says));
    EXPECT_THAT(faults[0], HasSubstr(bad.remedy));
    EXPECT_EQ(faults[0].find('\n'), std::string::npos);
}

INSTANTIATE_TEST_SUITE_P(
    Malformed, BadPlan,
    testing::Values(
        Bad{"format", "proofwalk.plan/1", "proofwalk.plan/9", "format is \"proofwalk.plan/9\"", "this program reads \"proofwalk.plan/1\""},
        Bad{"no_format", "format = \"proofwalk.plan/1\"\n", "", "the key \"format\" is missing"},
        Bad{"section", "[air]", "[airs]", "unknown key \"airs\"", "did you mean \"air\"?"},
        Bad{"syntax", "[air]", "[air", "not TOML"},
        Bad{"key_twice", "humidity_pct = 60.0", "humidity_pct = 60.0\nhumidity_pct = 61.0", "not TOML"},
        Bad{"infinite", "gain_db = -1.5", "gain_db = inf", "gain_db is not a finite number"},
        Bad{"not_a_number", "pan_deg = 8.0", "pan_deg = nan", "pan_deg is not a finite number"},
        Bad{"far_mic", "at = [14.0, 4.0, 1.2]", "at = [10000.0, 4.0, 1.2]", "at = 10000 is out of range", "between -1000 and 1000 m"},
        Bad{"remote_mic", "at = [14.0, 4.0, 1.2]", "at = [900.0, 4.0, 1.2]", "is 900 m from box \"M1\""},
        Bad{"mic_in_box", "at = [14.0, 4.0, 1.2]", "at = [0.0, 6.0, 4.5]", "it stands in it"},
        Bad{"negative_coverage", "coverage_h_deg = 90.0", "coverage_h_deg = -90.0", "coverage_h_deg = -90 is out of range"},
        Bad{"wide_coverage", "coverage_v_deg = 60.0", "coverage_v_deg = 361.0", "coverage_v_deg = 361 is out of range"},
        Bad{"no_coverage", "coverage_v_deg = 60.0\n", "", "the key \"coverage_v_deg\" is missing"},
        Bad{"no_range", "range_hz = [60.0, 18000.0]\n", "", "the key \"range_hz\" is missing"},
        Bad{"humidity", "humidity_pct = 60.0", "humidity_pct = -1.0", "humidity_pct = -1 is out of range", "between 0 and 100 %"},
        Bad{"temperature", "temperature_c = 18.0", "temperature_c = 291.15", "temperature_c = 291.15 is out of range"},
        Bad{"text_for_number", "gain_db = -1.5", "gain_db = \"-1.5\"", "gain_db must be a number, found a text"},
        Bad{"number_for_text", "model = \"wide\"\nat = [0.0, 6.0, 4.5]", "model = 3\nat = [0.0, 6.0, 4.5]", "model must be a text, found a whole number"},
        Bad{"short_point", "at = [0.0, -6.0, 4.5]", "at = [0.0, -6.0]", "at must be 3 numbers, found 2 of them", "[x, y, z]"},
        Bad{"band_order", "aim_band_hz = [2000.0, 8000.0]", "aim_band_hz = [8000.0, 2000.0]", "starts at 8000 Hz and ends at 2000 Hz"},
        Bad{"band_outside", "aim_band_hz = [2000.0, 8000.0]", "aim_band_hz = [2000.0, 19000.0]", "reaches outside range_hz"},
        Bad{"pattern", "pattern = \"omni\"", "pattern = \"omi\"", "unknown pattern \"omi\"", "did you mean \"omni\"?"},
        Bad{"kind", "kind = \"uncoupled\"", "kind = \"uncoupeld\"", "unknown kind of array \"uncoupeld\"", "did you mean \"uncoupled\"?"},
        Bad{"role", "role = \"on-axis\"", "role = \"on axis\"", "unknown role \"on axis\"", "did you mean \"on-axis\"?"},
        Bad{"decision", "[[area]]", "[rules]\ndecision = \"gaurded\"\n[[area]]", "unknown decision rule \"gaurded\"", "\"guarded\""},
        Bad{"confidence", "[[area]]", "[rules]\nconfidence = 1.0\n[[area]]", "confidence = 1 is out of range"},
        Bad{"zero_tolerance", "[[area]]", "[rules]\naim_deg = 0.0\n[[area]]", "aim_deg = 0 is out of range"},
        Bad{"two_ids", "id = \"S\"", "id = \"S\"\nmodel = \"sub\"\nat = [1.0, 1.0, 0.5]\n[[box]]\nid = \"S\"", "box \"S\" is there twice (first in line 55)"},
        Bad{"two_positions", "id = \"p2\"", "id = \"p1\"", "position \"p1\" is there twice"},
        Bad{"circuit_list", "circuit = \"FF\"", "circuit = [\"FF\", \"F1\"]", "a box has one circuit"},
        Bad{"plus_in_id", "id = \"p2\"", "id = \"p+2\"", "which joins the two boxes of a pair"},
        Bad{"unknown_model", "model = \"sub\"", "model = \"subs\"", "of model \"subs\", which the plan does not have", "did you mean \"sub\"?"},
        Bad{"array_of_ghosts", "boxes = [\"F1\", \"F2\"]", "boxes = [\"F1\", \"F9\"]", "array \"fills\" names box \"F9\", which the plan does not have"},
        Bad{"array_of_one", "boxes = [\"F1\", \"F2\"]\n[[array]]", "boxes = [\"F1\"]\n[[array]]", "array \"fills\" has 1 box"},
        Bad{"serves_ghost", "role = \"on-axis\", boxes = [\"M1\"]", "role = \"on-axis\", boxes = [\"M9\"]", "names box \"M9\", which the plan does not have", "did you mean \"M1\"?"},
        Bad{"serves_nobody", "role = \"on-axis\", boxes = [\"M1\"]", "role = \"on-axis\", boxes = []", "names no box"},
        Bad{"crossover_of_one", "boxes = [\"S\", \"M1\"] }", "boxes = [\"S\"] }", "a crossover is between two boxes"},
        Bad{"crossover_of_itself", "boxes = [\"S\", \"M1\"] }", "boxes = [\"S\", \"S\"] }", "names box \"S\" twice"},
        Bad{"no_common_band", "band_hz = [60.0, 120.0]\n[[position]]", "[[model]]\nid = \"horn\"\npattern = \"omni\"\nrange_hz = [500.0, 9000.0]\n[[box]]\nid = \"H\"\nmodel = \"horn\"\nat = [0.0, 0.0, 2.0]\n[[array]]\nid = \"odd\"\nkind = \"delay\"\nboxes = [\"S\", \"H\"]\n[[position]]", "no frequency in common", "give band_hz"},
        Bad{"outputs_differ", "circuit = \"FF\"\noutput = 3\n[[box]]\nid = \"S\"", "circuit = \"FF\"\noutput = 5\n[[box]]\nid = \"S\"", "circuit \"FF\" is driven by output 3"},
        Bad{"output_zero", "output = 4", "output = 0", "output = 0 is out of range"},
        Bad{"output_half", "output = 4", "output = 4.5", "output must be a whole number"},
        Bad{"one_bracket", "[[position]]\nid = \"p4\"\nat = [4.0", "[positon]\nid = \"p4\"\nat = [4.0", "unknown key \"positon\"", "did you mean \"position\"?"},
        Bad{"area_line", "far = [21.0, 0.0, 1.2]", "far = [3.0, 0.0, 1.2]", "the nearest and the farthest row are in one place"},
        Bad{"no_sofa", "size_m = [0.40, 0.70, 0.42]", "directivity = \"nowhere.sofa\"", "directivity file \"nowhere.sofa\""},
        Bad{"negative_delay", "delay_ms = 2.0", "delay_ms = -2.0", "delay_ms = -2 is out of range"}),
    [](const testing::TestParamInfo<Bad>& bad) { return bad.param.name; });

TEST(Read, NamesBothCircuitsOfABoxThatIsWrittenTwice) {
    const auto faults = faults_of(example_with("id = \"M2\"", "id = \"M1\"\ncircuit = \"other\""));
    ASSERT_FALSE(faults.empty());
    EXPECT_THAT(faults[0], HasSubstr("box \"M1\" is in two circuits, \"M1\" and \"other\""));
}

TEST(Read, RefusesWhatIsNoPlan) {
    EXPECT_THAT(faults_of("").at(0), HasSubstr("the file is empty"));
    EXPECT_THAT(faults_of(" \n\t\n").at(0), HasSubstr("the file is empty"));
    EXPECT_THAT(faults_of(std::string("\x7f" "ELF\0\0", 6)).at(0), HasSubstr("not text"));
    EXPECT_THAT(faults_of("\xff\xfe\x80 binary").at(0), HasSubstr("not TOML"));
    const auto bare = faults_of("format = \"proofwalk.plan/1\"\nname = \"Nothing\"\n");
    ASSERT_EQ(bare.size(), 2u);
    EXPECT_THAT(bare[0], HasSubstr("no [[model]]"));
    EXPECT_THAT(bare[1], HasSubstr("no [[box]]"));
}

TEST(Read, SaysWhyAFileCannotBeLoaded) {
    EXPECT_THAT(load("/nowhere/plan.toml").error().at(0).reason, HasSubstr("no such file"));
    EXPECT_THAT(load(PROOFWALK_SOURCE_DIR).error().at(0).reason, HasSubstr("folder"));
}

TEST(Read, WarnsOfWhatIsProbablyNotMeant) {
    const auto outside = read(example_with("at = [10.2, 0.0, 1.2]", "at = [30.0, 0.0, 1.2]"), "plan.toml", ".");
    ASSERT_TRUE(outside);
    EXPECT_THAT(outside->warnings, testing::ElementsAre(HasSubstr("position \"p3\" lies outside every area")));
    const auto strangers = read(example_with("boxes = [\"S\", \"M1\"] }", "boxes = [\"S\", \"M2\"] }"), "plan.toml", ".");
    ASSERT_TRUE(strangers);
    EXPECT_THAT(strangers->warnings, testing::Contains(HasSubstr("neighbours in no array")));
    EXPECT_THAT(read(example_text, "plan.toml", ".")->warnings, IsEmpty());
}

// No single byte put into a plan breaks the reader, and every refusal says something.
TEST(Read, SurvivesAByteAnywhere) {
    for (std::size_t at = 0; at < example_text.size(); at += 7)
        for (const char byte : {'"', '[', '\n', '9', '\x80', '\0'}) {
            std::string text = example_text;
            text[at] = byte;
            const auto found = read(text, "plan.toml", ".");
            if (!found) {
                ASSERT_FALSE(found.error().empty());
                for (const Fault& fault : found.error()) EXPECT_FALSE(fault.reason.empty());
            }
        }
}

TEST(Read, LoadsTheSharedCases) {
    const std::filesystem::path cases = PROOFWALK_SOURCE_DIR "/../shared/cases";
    if (!std::filesystem::exists(cases)) GTEST_SKIP() << "no shared cases beside the source";
    int count = 0;
    for (const auto& folder : std::filesystem::directory_iterator(cases)) {
        if (!folder.is_directory()) continue;
        const auto found = load(folder.path() / "plan.toml");
        EXPECT_TRUE(found) << folder.path();
        if (!found)
            for (const Fault& fault : found.error()) ADD_FAILURE() << sentence(fault);
        ++count;
    }
    EXPECT_GE(count, 1);
}

}  // namespace
}  // namespace proofwalk::plan
