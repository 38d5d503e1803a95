// The finished demo hall and awkward shows in the real window, at every size and on every paper.
#include <fmt/format.h>

#include "driven/hands.hpp"
#include "driven/open_window.hpp"
#include "shows.hpp"

namespace proofwalk::app {
namespace {

namespace fs = std::filesystem;

// A walk of the invented demo hall with faults in it.
fs::path rehearsed_demo(const Place& place) {
    const fs::path plan = place.demo_plan();
    auto show = walk::open_show(plan, place / "demo-rehearsal.db");
    EXPECT_TRUE(show.has_value());
    walk::RehearsalOptions options;
    options.sweep_s = 1.0;
    for (const auto& box : {show->plan.plan.boxes.at(0).id + ":aim-v:-5", show->plan.plan.boxes.at(1).id + ":polarity"})
        options.room.faults.push_back(*rehearsal::fault_from_text(box, show->plan.plan));
    const auto hung = walk::rehearse(*show, options, [](const auto&, std::size_t, std::size_t) {});
    EXPECT_TRUE(hung.has_value());
    return place / "demo-rehearsal.db";
}

// The design desk with a position under the pencil, its slips, and the walk against the clock.
void desk_pictures(Window& window, Hands& hands, const std::string& name) {
    hands.key(GLFW_KEY_8);
    window.app().state().box = "CA";
    hands.press("add-position");
    hands.press("role-0");
    hands.picture(name + "-position");
    hands.key(GLFW_KEY_A);
    for (const char* question : {"vertical aim", "splay", "delay"}) {
        hands.press(std::string{"estimate-question:"} + question);
        hands.picture(fmt::format("{}-estimate-{}", name, question));
    }
    hands.key(GLFW_KEY_ESCAPE);
    hands.key(GLFW_KEY_M);
    hands.picture(name + "-place-mics");
    hands.key(GLFW_KEY_ESCAPE);
    hands.key(GLFW_KEY_Z, modifier_control);
}

TEST(SizesAndPapers, TheDemoHallEverywhere) {
    const Place place;
    const fs::path log = rehearsed_demo(place);
    struct Look {
        int width, height;
        PaperKind paper;
        std::vector<int> sheets;
    };
    const std::vector<Look> looks = {{1280, 800, PaperKind::hall, {1, 2, 3, 4, 5, 6, 7, 8, 9}}, {1280, 800, PaperKind::day, {2, 4, 5}}, {1280, 800, PaperKind::print, {2, 4, 5}},
                                     {800, 500, PaperKind::hall, {1, 2, 4, 5, 6, 8, 9}}, {3840, 2160, PaperKind::hall, {2, 5}}};
    for (const Look& look : looks) {
        auto window = open_window(place, log, look.width, look.height);
        ASSERT_NE(window, nullptr);
        Hands hands{*window};
        ASSERT_TRUE(hands.rest());
        ASSERT_NE(window->app().desk().records(), nullptr);
        window->app().state().settings.paper = look.paper;
        for (const int sheet : look.sheets) {
            hands.key(GLFW_KEY_0 + sheet);
            if (sheet == 5) hands.press("tally:1");
            hands.picture(fmt::format("demo-{}x{}-{}-sheet-{}", look.width, look.height, word(look.paper), sheet));
            if (sheet == 9 && look.width == 800) {
                window->app().state().settings.who = "R. Walker";
                hands.press("match");
                hands.picture("demo-800x500-match-asked");
                hands.press("slip-yes");
                hands.picture("demo-800x500-match");
                hands.key(GLFW_KEY_ESCAPE);
            }
            if (sheet != 4) continue;
            hands.key(GLFW_KEY_H);
            EXPECT_TRUE(window->app().state().phase);
            hands.picture(fmt::format("demo-{}x{}-{}-phase", look.width, look.height, word(look.paper)));
            hands.key(GLFW_KEY_H);
            EXPECT_FALSE(window->app().state().phase);
        }
        hands.key(GLFW_KEY_5);
        hands.key(GLFW_KEY_E);
        hands.picture(fmt::format("demo-{}x{}-{}-explained", look.width, look.height, word(look.paper)));
        hands.press("explain-view:what it is");
        hands.picture(fmt::format("demo-{}x{}-{}-glossary", look.width, look.height, word(look.paper)));
        hands.key(GLFW_KEY_ESCAPE);
        if (look.paper == PaperKind::hall && look.width < 2000) desk_pictures(*window, hands, fmt::format("demo-{}x{}", look.width, look.height));
    }
}

TEST(SizesAndPapers, AwkwardShows) {
    const Place place;
    auto window = open_window(place, std::nullopt);
    ASSERT_NE(window, nullptr);
    Hands hands{*window};
    const auto show = [&](const Records& made, const std::string& name) {
        window->app().desk().show(std::make_shared<const Records>(made));
        window->input().left_window();  // any input: the picture is made again
        for (const int sheet : {1, 2, 5, 6}) {
            hands.key(GLFW_KEY_0 + sheet);
            if (sheet == 5 && hands.sees("tally:0")) hands.press("tally:0");
            hands.picture(fmt::format("{}-sheet-{}", name, sheet));
        }
    };
    show(made_up(200, "B", "Two hundred boxes (invented)"), "many");
    show(made_up(0, "", "An empty plan (invented)"), "none");
    const std::string longest(120, 'W');
    show(made_up(6, "the-left-upper-balcony-delay-loudspeaker-", longest + " " + longest), "long");
    show(made_up(5, "\u4e3b\u0417\u03a9", "\u97f3\u97ff\u30c6\u30b9\u30c8 \u0411\u043e\u043b\u044c\u0448\u043e\u0439 \u03a9\u03b4\u03b5\u03af\u03bf"), "scripts");
}

// The log is taken away while the window is open: it says so, takes nothing, and goes on when the log is back.
TEST(SizesAndPapers, ALogThatVanishesAndComesBack) {
    const Place place;
    const fs::path plan = place.small_plan();
    auto window = open_window(place, plan);
    ASSERT_NE(window, nullptr);
    Hands hands{*window};
    ASSERT_TRUE(hands.rest());
    hands.press("rehearse");
    ASSERT_TRUE(hands.rest());
    window->app().state().settings.who = "R. Walker";
    window->app().state().armed = true;
    const fs::path log = place / "small-rehearsal.db", away = place / "elsewhere.db";
    fs::rename(log, away);
    hands.key(GLFW_KEY_SPACE);
    ASSERT_FALSE(window->app().desk().notices().empty());
    EXPECT_TRUE(window->app().desk().notices().front().fault);
    EXPECT_NE(window->app().desk().notices().front().text.find("not there any more"), std::string::npos);
    EXPECT_EQ(records(*window).path.done, 0U);
    hands.picture("log-gone");
    fs::rename(away, log);
    hands.key(GLFW_KEY_SPACE);
    EXPECT_EQ(records(*window).path.done, 1U);
}

}  // namespace
}  // namespace proofwalk::app
