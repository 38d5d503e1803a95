// Notes, photos, the audit and certificates from the sheets, and steps against the clock.
#include <GLFW/glfw3.h>

#include "shows.hpp"
#include "table.hpp"

namespace proofwalk::app {
namespace {

namespace fs = std::filesystem;

void type(Table& table, const std::string& text) {
    for (const char c : text) table.input().character(static_cast<unsigned>(static_cast<unsigned char>(c)));
    table.settle();
}

std::vector<log::Note> notes_in(const fs::path& file) {
    const auto log = log::Log::open(file, log::Mode::read);
    EXPECT_TRUE(log.has_value());
    return log ? *log->notes() : std::vector<log::Note>{};
}

TEST(Notes, AreWrittenAboutWhatIsChosen) {
    const Place place;
    Table table;
    begin_rehearsal(table, place);
    const std::string box = table.app().desk().records()->plan().boxes.back().id;
    table.app().state().box = box;
    table.app().state().sheet = Sheet::tally;
    table.key(GLFW_KEY_N);
    ASSERT_EQ(table.app().state().slip, Slip::note);
    type(table, "hangs 2 cm low");
    table.key(GLFW_KEY_ENTER);
    EXPECT_EQ(table.app().state().slip, Slip::none);
    const auto& remarks = table.app().desk().records()->page.remarks;
    ASSERT_EQ(remarks.size(), 1U);
    EXPECT_EQ(remarks.front().about, "box " + box);
    EXPECT_EQ(remarks.front().text, "hangs 2 cm low");
    EXPECT_EQ(remarks.front().who, "R. Walker");
    EXPECT_EQ(remarks.front().what, "remark");
    const auto drawn_with = [&](Sheet sheet) {
        table.app().state().sheet = sheet;
        table.settle();
        table.check_drawing();
        return table.corners();
    };
    const int with = drawn_with(Sheet::room);
    table.app().state().box = table.app().desk().records()->plan().boxes.front().id;
    table.app().state().sheet = Sheet::look_back;
    table.app().state().look_back_view = 1;
    table.settle();
    EXPECT_TRUE(table.app().ui().places().contains("notes:0"));
    auto without = std::make_shared<Records>(*table.app().desk().records());
    without->page.remarks.clear();
    table.app().desk().show(without);
    table.app().state().box = box;
    EXPECT_LT(drawn_with(Sheet::room), with) << "the note must stand beside the box";
}

TEST(Notes, NeedWordsOrAFileThatIsThere) {
    const Place place;
    Table table;
    begin_rehearsal(table, place);
    table.key(GLFW_KEY_N);
    EXPECT_FALSE(table.app().ui().places().contains("slip-yes"));
    table.app().state().note.file = (place / "nothing.jpg").string();
    table.app().state().note.text = "what it shows";
    table.settle();
    EXPECT_FALSE(table.app().ui().places().contains("slip-yes")) << "the file is not there";
    table.key(GLFW_KEY_ENTER);
    EXPECT_EQ(table.app().state().slip, Slip::note) << "nothing may be lost because a path was mistyped";
}

TEST(Notes, APhotoIsDroppedOntoTheWindow) {
    const Place place;
    Table table;
    begin_rehearsal(table, place);
    const auto photo = place.write("shackle.png", std::string{"\x89PNG\r\n\x1a\n invented", 17});
    table.app().drop(photo);
    table.settle();
    ASSERT_EQ(table.app().state().slip, Slip::note);
    table.press("note-about-show");
    table.press("slip-yes");
    const auto& remarks = table.app().desk().records()->page.remarks;
    ASSERT_EQ(remarks.size(), 1U);
    EXPECT_EQ(remarks.front().file, "shackle.png");
    EXPECT_EQ(remarks.front().what, "photo");
    EXPECT_EQ(remarks.front().about, "show");
}

TEST(Notes, AnIncidentIsKeptAtOnceWhileARoundRuns) {
    const Place place;
    Table table;
    begin_rehearsal(table, place, 600.0);
    table.app().desk().take_round(0, table.app().state().settings);
    for (int i = 0; i < 20; ++i) table.frame();
    ASSERT_TRUE(table.app().desk().take_view().run.has_value());
    table.app().desk().keep({"box CB", "went silent", {}, true}, table.app().state().settings);
    std::vector<log::Note> notes;
    for (int i = 0; i < 2500 && notes.empty(); ++i) {
        table.frame();
        std::this_thread::sleep_for(std::chrono::milliseconds(2));
        if (i % 10 == 0) notes = notes_in(place / "small-rehearsal.db");
    }
    ASSERT_EQ(notes.size(), 1U) << "it has to be in the log before the round is over";
    EXPECT_TRUE(notes.front().incident);
    EXPECT_TRUE(table.app().desk().take_view().run.has_value()) << "the round still counts in";
    table.app().desk().stop();
    table.settle();
    EXPECT_EQ(table.app().desk().records()->page.remarks.size(), 1U);
}

TEST(Audit, StandsOnTheSignSheetAndFindsARecordingThatWasChanged) {
    const Place place;
    Table table;
    begin_rehearsal(table, place);
    table.app().desk().take(0, table.app().state().settings);
    table.settle();
    table.app().state().sheet = Sheet::sign;
    table.settle();
    ASSERT_TRUE(table.app().desk().audited().has_value());
    ASSERT_TRUE(table.app().desk().audited()->found.has_value());
    EXPECT_TRUE(table.app().desk().audited()->found->sound());
    EXPECT_TRUE(table.app().ui().places().contains("audit"));
    bool touched = false;
    for (const auto& file : fs::recursive_directory_iterator{place / "small-rehearsal.db.takes"})
        if (file.is_regular_file() && !touched) {
            std::ofstream{file.path(), std::ios::binary | std::ios::app} << "x";
            touched = true;
        }
    ASSERT_TRUE(touched);
    table.key(GLFW_KEY_U);
    ASSERT_EQ(table.app().state().slip, Slip::audit);
    table.press("slip-yes");
    EXPECT_FALSE(table.app().desk().audited()->found->sound());
    EXPECT_NE(audit_words(*table.app().desk().audited()).find("not fit"), std::string::npos);
    table.check_drawing();
}

TEST(Certificates, AreKeptWithTheirDatesAndOneThatRanOutWithholdsPasses) {
    const Place place;
    Table table;
    begin_rehearsal(table, place);
    State& state = table.app().state();
    state.sheet = Sheet::gear;
    table.settle();
    const auto keep = [&](const std::string& of, const std::string& until) {
        table.press("certificate");
        type(table, of);
        table.key(GLFW_KEY_TAB);
        type(table, until);
        table.key(GLFW_KEY_ENTER);
    };
    keep("m1 0417", "tomorrow");
    EXPECT_EQ(state.slip, Slip::certificate) << "that is no date";
    table.press("slip-no");
    EXPECT_EQ(state.slip, Slip::none);
    state.certificate_of.clear();
    state.certificate_until.clear();
    keep("m1 0417", "2999-01-01");
    keep("calibrator 2231", "2001-01-01");
    const auto& gear = table.app().desk().records()->gear;
    const auto verdict_of = [&](const std::string& subject) {
        std::string verdict;
        for (const auto& record : gear)
            if (record.check == "certificate" && record.subject == subject) verdict = record.verdict;
        return verdict;
    };
    EXPECT_EQ(verdict_of("m1 0417"), "pass");
    EXPECT_EQ(verdict_of("calibrator 2231"), "fail");
    EXPECT_NE(gear_warning(gear, now().utc_s).find("withheld"), std::string::npos);
    table.check_drawing();
}

TEST(Times, OfARealWalkStandBesideWhatWasPredicted) {
    Table table;
    auto records = std::make_shared<Records>(made_up(4, "B", "Timed (invented)"));
    records->steps_taken.push_back({"t02", {"B1"}, {"Bp1"}, 1, {10.0, 12.0, 7.0, 65.0}});
    records->steps_taken.push_back({"t03", {"B2"}, {"Bp1"}, 0, {0.0, 0.0, 7.0, 9.0}});
    table.app().desk().show(records);
    table.app().state().sheet = Sheet::look_back;
    table.app().state().look_back_view = 2;
    table.settle();
    EXPECT_TRUE(table.app().ui().places().contains("times:1"));
    table.check_drawing();
}

TEST(TypedPaths, AreUnderstoodAsPeopleWriteThem) {
    const fs::path home = std::getenv("HOME") != nullptr ? std::getenv("HOME") : "";
    EXPECT_EQ(path_from_typed("  hall.toml "), "hall.toml");
    EXPECT_EQ(path_from_typed("\"/a b/c.jpg\""), "/a b/c.jpg");
    EXPECT_EQ(path_from_typed("file:///a/b.png"), "/a/b.png");
    if (!home.empty()) {
        EXPECT_EQ(path_from_typed("~/x.png"), home / "x.png");
    }
    EXPECT_TRUE(path_from_typed("").empty());
}

}  // namespace
}  // namespace proofwalk::app
