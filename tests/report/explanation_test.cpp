// Explanations and the teaching text that the program carries.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "report/example_show.hpp"
#include "report/explanation.hpp"

namespace proofwalk::report {
namespace {

verify::Explanation why_the_aim_failed() {
    verify::Explanation why;
    for (const verify::CheckResult& check : example_tally().checks)
        if (check.kind == plan::CheckKind::aim_v) why.check = check;
    why.budget = why.check.budget;
    why.rule = "guarded rule: within 2 deg with a probability of 0.000";
    verify::Compared one;
    one.circuit = "M1";
    one.position = "p<1>";
    one.take = "t01";
    one.mic = "m1";
    one.roles = {"on-axis"};
    one.asked = true;
    one.level_db = Measured{-31.46, 0.1};
    one.planned_db = -30.0;
    why.compared = {one};
    return why;
}

TEST(Glossary, TeachesEveryCheckOfAPlan) {
    using enum plan::CheckKind;
    for (const plan::CheckKind kind : {sounding, polarity, response, level, arrival, aim_h, aim_v, splay, spacing, crossover, alignment}) {
        const GlossaryEntry* entry = glossary_entry(plan::word(kind));
        ASSERT_NE(entry, nullptr) << plan::word(kind);
        std::vector<std::string> names;
        for (const GlossaryPart& part : entry->parts) {
            names.push_back(part.name);
            EXPECT_FALSE(part.text.empty()) << plan::word(kind) << " " << part.name;
            EXPECT_EQ(part.text.find_first_of("*`\n"), std::string::npos) << part.text;
        }
        EXPECT_THAT(names, testing::IsSupersetOf({"What", "Why", "Goes wrong"})) << plan::word(kind);
    }
    EXPECT_EQ(glossary_entry("nothing"), nullptr);
}

TEST(Glossary, PartsEndWhereTheNextBeginsAndNotAtBoldWords) {
    const auto entries = glossary_of("# Title\n\n## one, two\n**What**: a **bold** word\nand a line. **Why**: because.\n## three\nno part\n");
    ASSERT_EQ(entries.size(), 2u);
    EXPECT_THAT(entries[0].words, testing::ElementsAre("one", "two"));
    ASSERT_EQ(entries[0].parts.size(), 2u);
    EXPECT_EQ(entries[0].parts[0].text, "a bold word and a line.");
    EXPECT_EQ(entries[0].parts[1].name, "Why");
    EXPECT_TRUE(entries[1].parts.empty());
}

TEST(Explanation, TextHoldsFigureRuleReadingsAndBudget) {
    const std::string text = explanation_text(why_the_aim_failed(), {false, 120});
    for (const char* piece : {"fail", "aim-v M1", "Guarded rule", "p<1>", "on-axis", "mic place", "directivity", "together", "100 %"})
        EXPECT_THAT(text, testing::HasSubstr(piece));
}

TEST(Explanation, JsonHoldsTheSameAndNullWhereNothingIsKnown) {
    const auto json = nlohmann::json::parse(explanations_json({why_the_aim_failed()}, {glossary_entry("aim-v")}));
    EXPECT_EQ(json["format"], "proofwalk.explain/1");
    const auto& check = json["checks"][0];
    EXPECT_EQ(check["budget"][0]["source"], "mic place");
    EXPECT_EQ(check["compared"][0]["position"], "p<1>");
    EXPECT_TRUE(check["compared"][0]["arrival_ms"].is_null());
    EXPECT_NEAR(check["compared"][0]["level_db"]["value"].get<double>(), -31.46, 1e-9);
    EXPECT_EQ(json["teaching"][0]["parts"][0]["name"], "What");
}

TEST(Explanation, DrawingShowsEachFigureOnItsTolerance) {
    const std::string svg = explanations_svg("Why <M1>", {why_the_aim_failed()});
    EXPECT_THAT(svg, testing::StartsWith("<svg"));
    EXPECT_THAT(svg, testing::HasSubstr("Why &lt;M1&gt;"));
    EXPECT_THAT(svg, testing::HasSubstr("mic place"));
    EXPECT_EQ(svg.find("nan"), std::string::npos);
}

}  // namespace
}  // namespace proofwalk::report
