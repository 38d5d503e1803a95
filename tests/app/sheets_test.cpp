// Every sheet on every paper, on an empty, a half-walked and a finished show, and on awkward ones; no window is needed.
#include <GLFW/glfw3.h>

#include "shows.hpp"
#include "table.hpp"

namespace proofwalk::app {
namespace {

struct Size2 {
    float width, height;
};
constexpr std::array<Size2, 3> window_sizes = {{{800.0F, 500.0F}, {1280.0F, 800.0F}, {3840.0F, 2160.0F}}};

void draw_everything(Table& table) {
    State& state = table.app().state();
    for (const PaperKind kind : {PaperKind::hall, PaperKind::day, PaperKind::print})
        for (std::size_t sheet = 0; sheet < sheet_count; ++sheet) {
            state.settings.paper = kind;
            state.sheet = static_cast<Sheet>(sheet);
            table.settle();
            EXPECT_GT(table.corners(), 200) << "sheet " << sheet;
            table.check_drawing();
        }
    state.sheet = Sheet::tally;
    for (const Slip slip : {Slip::open, Slip::skip, Slip::change, Slip::explain, Slip::arm, Slip::keys, Slip::note, Slip::audit, Slip::certificate, Slip::prove}) {
        state.slip = slip;
        state.slip_is_new = true;
        table.settle();
        EXPECT_GT(table.corners(), 200) << "slip " << static_cast<int>(slip);
        table.check_drawing();
        table.key(GLFW_KEY_ESCAPE);
        if (state.slip != Slip::none) table.key(GLFW_KEY_ESCAPE);  // the first may only have left a field
        EXPECT_EQ(state.slip, Slip::none) << "Escape must put slip " << static_cast<int>(slip) << " away";
    }
}

void draw_at_all_sizes(const Records& records, const std::vector<Card>& cards = {}) {
    const auto shared = std::make_shared<const Records>(records);
    for (const Size2 size : window_sizes) {
        SCOPED_TRACE(size.width);
        Table table{size.width, size.height};
        table.app().desk().show(shared);
        table.app().desk().show_cards(cards);
        if (!shared->planned.empty()) {
            table.app().state().check = walk::CheckName{shared->planned.front().kind, shared->planned.front().subject};
            table.app().state().box = shared->plan().boxes.front().id;
        }
        draw_everything(table);
    }
}

TEST(Sheets, WithNoShow) {
    for (const Size2 size : window_sizes) {
        Table table{size.width, size.height};
        table.settle();
        EXPECT_GT(table.corners(), 100);
        table.check_drawing();
        EXPECT_TRUE(table.app().ui().places().contains("path"));
    }
}

TEST(Sheets, OfAnEmptyShow) {
    const Place place;
    draw_at_all_sizes(walked(place, "empty", 0));
}

TEST(Sheets, OfAHalfWalkedShow) {
    const Place place;
    const Records half = walked(place, "half", 2);
    EXPECT_EQ(half.path.done, 2U);
    EXPECT_TRUE(half.path.now.has_value());
    draw_at_all_sizes(half);
}

TEST(Sheets, OfAFinishedShowWithFaults) {
    const Place place;
    const Records finished = walked(place, "finished", 1000, {"CB:aim-h:6", "FF:polarity"});
    EXPECT_FALSE(finished.path.now.has_value());
    EXPECT_GT(finished.page.tally.counts().fail, 0);
    draw_at_all_sizes(finished);
}

TEST(Sheets, OfTwoHundredBoxes) { draw_at_all_sizes(made_up(200, "B", "Two hundred boxes (invented)")); }

TEST(Sheets, OfNoBoxAtAll) {
    const Records none = made_up(0, "", "An empty plan (invented)");
    EXPECT_TRUE(none.path.steps.empty());
    draw_at_all_sizes(none);
}

TEST(Sheets, OfVeryLongNames) {
    const std::string longest(300, 'W');
    draw_at_all_sizes(made_up(6, "the-left-upper-balcony-delay-loudspeaker-behind-the-second-pillar-", longest + " " + longest));
}

TEST(Sheets, OfNamesInOtherScripts) {
    draw_at_all_sizes(made_up(5, "\u4e3b\u0417\u03a9\u00e9", "\u97f3\u97ff\u30c6\u30b9\u30c8 \u0411\u043e\u043b\u044c\u0448\u043e\u0439 \u03a9\u03b4\u03b5\u03af\u03bf \u05d0\u05d1 \u0639\u0631 \xff\xfe broken"));
}

TEST(Sheets, CardsOfATakeThatHeardNothing) {
    Records records = made_up(3, "B", "Quiet (invented)");
    log::TakeRecord take;
    take.label = "t01";
    log::EvidenceRecord heard;
    heard.circuit = "B1";
    heard.position = "Bp1";
    heard.mic = "m1";
    heard.reading.flags.raise(Flag::no_signal);
    heard.reading.flags.raise(Flag::dead_channel);
    take.evidence.push_back(heard);
    auto cards = cards_of(take);
    add_meaning(cards, std::make_shared<const Records>(records));
    EXPECT_FALSE(cards.front().meaning.empty());
    draw_at_all_sizes(records, cards);
}

// Every button can be reached with Tab alone, and Tab comes round.
TEST(Keyboard, TabReachesEveryStop) {
    Table table;
    table.app().desk().show(std::make_shared<const Records>(made_up(4, "B", "Tabs (invented)")));
    for (std::size_t sheet = 0; sheet < sheet_count; ++sheet) {
        table.app().state().sheet = static_cast<Sheet>(sheet);
        table.settle();
        std::set<std::string> seen;
        for (int i = 0; i < 80; ++i) {
            table.key(GLFW_KEY_TAB);
            seen.insert(table.app().ui().focused());
        }
        for (int s = 1; s <= 9; ++s) EXPECT_TRUE(seen.contains("sheet-" + std::to_string(s))) << "on sheet " << sheet;
        table.key(GLFW_KEY_TAB, modifier_shift);
        EXPECT_FALSE(table.app().ui().focused().empty());
    }
}

TEST(Keyboard, EnterAndSpacePressWhatHasTheKeyboard) {
    Table table;
    table.app().desk().show(std::make_shared<const Records>(made_up(4, "B", "Keys (invented)")));
    table.settle();
    for (const int key : {GLFW_KEY_ENTER, GLFW_KEY_SPACE}) {
        table.app().state().sheet = Sheet::next;
        table.settle();
        table.app().ui().focus("sheet-5");
        table.key(key);
        EXPECT_EQ(table.app().state().sheet, Sheet::tally);
    }
}

TEST(Keyboard, LettersTypedIntoAFieldDoNothingElse) {
    Table table;
    table.app().desk().show(std::make_shared<const Records>(made_up(4, "B", "Typing (invented)")));
    table.app().state().sheet = Sheet::sign;
    table.settle();
    table.press("sign-who");
    for (const char c : std::string{"5 pr"}) {
        table.input().key(c == ' ' ? GLFW_KEY_SPACE : std::toupper(c), 0, true, false);
        table.input().character(static_cast<unsigned>(c));
        table.input().key(c == ' ' ? GLFW_KEY_SPACE : std::toupper(c), 0, false, false);
    }
    table.settle();
    EXPECT_EQ(table.app().state().settings.who, "5 pr");
    EXPECT_EQ(table.app().state().sheet, Sheet::sign);
    table.key(GLFW_KEY_ESCAPE);
    table.key(GLFW_KEY_5);
    EXPECT_EQ(table.app().state().sheet, Sheet::tally);
}

TEST(Selection, ABoxChosenAnywhereIsChosenEverywhere) {
    Table table;
    table.app().desk().show(std::make_shared<const Records>(made_up(4, "B", "Selection (invented)")));
    table.app().state().sheet = Sheet::tally;
    table.settle();
    table.press("tally:2");
    EXPECT_EQ(table.app().state().box, "B3");
    table.app().state().sheet = Sheet::curves;
    table.settle();
    EXPECT_EQ(table.app().state().curve_list.selected, 2U);
    table.press("curve-boxes:1");
    EXPECT_EQ(table.app().state().box, "B2");
}

}  // namespace
}  // namespace proofwalk::app
