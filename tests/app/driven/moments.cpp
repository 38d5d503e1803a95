// Moments of a walk that no sheet shows by itself: a round as it runs, the question before it gets loud, arming, gear that is not
// proven, what stays unproven when time is short. At three sizes and on the three papers, for people to look at.
#include <fmt/format.h>

#include "driven/hands.hpp"
#include "driven/open_window.hpp"
#include "units/utc.hpp"

namespace proofwalk::app {
namespace {

struct Look {
    int width, height;
    PaperKind paper;
};
constexpr std::array<Look, 5> looks = {{{1280, 800, PaperKind::hall}, {1280, 800, PaperKind::day}, {1280, 800, PaperKind::print}, {800, 500, PaperKind::hall}, {3840, 2160, PaperKind::hall}}};

// Frames while the worker goes on, until something holds.
template <class Holds>
bool watch(Window& window, Holds holds) {
    for (int i = 0; i < 3000; ++i) {
        window.turn(0.02);
        if (holds()) return true;
    }
    return false;
}

void tap(Window& window, int key) {
    window.input().key(key, 0, true, false);
    window.input().key(key, 0, false, false);
    for (int i = 0; i < 6; ++i) window.turn(0.01);
}

TEST(Moments, OfAWalk) {
    for (const Look& look : looks) {
        const std::string name = fmt::format("moment-{}x{}-{}", look.width, look.height, word(look.paper));
        const Place place;
        auto window = open_window(place, place.demo_plan(), look.width, look.height);
        ASSERT_NE(window, nullptr);
        Hands hands{*window};
        State& state = window->app().state();
        Desk& desk = window->app().desk();
        hands.press("rehearse");
        ASSERT_NE(desk.records(), nullptr);
        state.settings.paper = look.paper;
        state.settings.who = "R. Walker";
        state.settings.length_s = 1.0;
        state.settings.count_in_s = 60.0;
        state.armed = true;

        // A round: counting in, at once, paused after it, what was heard beside it.
        tap(*window, GLFW_KEY_G);
        const auto phase = [&] {
            const TakeView view = desk.take_view();
            return view.run ? view.run->phase : walk::SequencePhase::over;
        };
        ASSERT_TRUE(watch(*window, [&] { return phase() == walk::SequencePhase::count_in; }));
        EXPECT_EQ(state.sheet, Sheet::take);
        EXPECT_TRUE(window->app().ui().places().contains("run-skip"));
        EXPECT_TRUE(window->save_picture(picture_file(name + "-1-count-in")).has_value());
        tap(*window, GLFW_KEY_SPACE);
        ASSERT_TRUE(watch(*window, [&] { return desk.take_view().run && desk.take_view().run->at == 1; }));
        tap(*window, GLFW_KEY_SPACE);
        ASSERT_TRUE(watch(*window, [&] { return desk.take_view().run && desk.take_view().run->at == 2; }));
        EXPECT_FALSE(desk.cards().empty());
        EXPECT_TRUE(window->save_picture(picture_file(name + "-2-mid-run")).has_value());
        tap(*window, GLFW_KEY_1);
        EXPECT_TRUE(window->save_picture(picture_file(name + "-3-next-while-it-runs")).has_value());
        tap(*window, GLFW_KEY_ESCAPE);
        ASSERT_TRUE(hands.rest());

        // Little time is left.
        state.settings.until_utc_s = now().utc_s + 150;
        desk.refresh(state.settings);
        ASSERT_TRUE(hands.rest());
        ASSERT_TRUE(desk.records()->clock.has_value());
        EXPECT_FALSE(desk.records()->clock->unproven.empty());
        hands.key(GLFW_KEY_1);
        hands.picture(name + "-4-risk");
        state.settings.until_utc_s.reset();

        // A real walk: gear that is not proven, arming, the question.
        state.settings.rehearse = false;
        state.armed = false;
        desk.refresh(state.settings);
        hands.key(GLFW_KEY_1);
        EXPECT_TRUE(hands.sees("gear-warning"));
        hands.picture(name + "-5-gear-warning");
        hands.key(GLFW_KEY_SPACE);
        ASSERT_EQ(state.slip, Slip::arm);
        hands.picture(name + "-6-arm");
        hands.press("slip-no");
        desk.show_question("It will be about 92 dBA where people may stand, 3 m from a box. Is the hall clear of people, and are ears protected?");
        window->input().left_window();
        hands.picture(name + "-7-question");
        EXPECT_EQ(state.slip, Slip::question);
        EXPECT_EQ(window->app().ui().focused(), "slip-no") << "Enter alone must not make it loud";
        state.settings.rehearse = true;
    }
}

}  // namespace
}  // namespace proofwalk::app
