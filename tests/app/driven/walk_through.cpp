// The whole rehearsal walk in the real window, by keys and pointer: from opening a plan to a signed report. Runs under a
// virtual screen with a software renderer; pictures of every sheet are left in the build directory for people to look at.
#include <fmt/format.h>

#include <algorithm>

#include "driven/hands.hpp"
#include "driven/open_window.hpp"
#include "walk/judged.hpp"

namespace proofwalk::app {
namespace {

namespace fs = std::filesystem;

TEST(WalkThrough, FromPlanToSignedReport) {
    const Place place;
    const fs::path plan = place.small_plan();
    auto window = open_window(place, std::nullopt);
    ASSERT_NE(window, nullptr);
    Hands hands{*window};
    ASSERT_TRUE(hands.rest());
    ASSERT_TRUE(hands.sees("path"));
    hands.press("path");
    hands.type(plan.string());
    hands.key(GLFW_KEY_ENTER);
    hands.picture("01-plan-read");
    ASSERT_TRUE(hands.sees("rehearse"));
    hands.press("rehearse");
    ASSERT_TRUE(window->app().desk().records() != nullptr);
    hands.picture("02-next-empty");
    for (int sheet = 2; sheet <= 9; ++sheet) {
        hands.key(GLFW_KEY_0 + sheet);
        hands.picture(fmt::format("03-empty-sheet-{}", sheet));
    }

    // The main key asks who walks, then takes step after step.
    hands.key(GLFW_KEY_1);
    hands.key(GLFW_KEY_SPACE);
    hands.picture("04-who-walks");
    hands.type("R. Walker");
    hands.key(GLFW_KEY_ENTER);
    ASSERT_TRUE(window->app().state().armed);
    const std::size_t steps = records(*window).path.steps.size();
    ASSERT_GT(steps, 3U);
    hands.key(GLFW_KEY_SPACE);
    hands.key(GLFW_KEY_SPACE);
    ASSERT_EQ(records(*window).path.done, 2U);
    hands.picture("05-next-half");
    // Against the clock for a moment: what fits, and what stays unproven.
    hands.press("minutes:more");
    EXPECT_TRUE(records(*window).clock.has_value());
    hands.picture("05-against-the-clock");
    hands.press("minutes:less");
    EXPECT_FALSE(records(*window).clock.has_value());
    for (int sheet = 2; sheet <= 9; ++sheet) {
        hands.key(GLFW_KEY_0 + sheet);
        hands.picture(fmt::format("06-half-sheet-{}", sheet));
    }

    // The window is closed in mid-walk and opened again: it goes on at the same step, on the same sheet.
    const auto step = records(*window).path.now;
    hands.key(GLFW_KEY_1);
    window.reset();
    window = open_window(place, std::nullopt);
    ASSERT_NE(window, nullptr);
    Hands again{*window};
    ASSERT_TRUE(again.rest());
    ASSERT_TRUE(window->app().desk().records() != nullptr);
    EXPECT_EQ(records(*window).path.now, step);
    EXPECT_EQ(window->app().state().settings.who, "R. Walker");
    again.key(GLFW_KEY_SPACE);
    again.key(GLFW_KEY_ENTER);
    ASSERT_TRUE(window->app().state().armed);
    for (std::size_t i = 0; i < 2 * steps && records(*window).path.now; ++i) again.key(GLFW_KEY_SPACE);
    ASSERT_FALSE(records(*window).path.now.has_value());
    again.picture("07-next-finished");
    for (const int sheet : {2, 3, 4, 5, 7}) {
        again.key(GLFW_KEY_0 + sheet);
        again.picture(fmt::format("08-finished-sheet-{}", sheet));
    }
    const auto counts = records(*window).page.tally.counts();
    EXPECT_EQ(counts.open, 0);

    // A skip is a decision with a reason; a verdict is explained.
    again.key(GLFW_KEY_5);
    again.press("tally:0");
    ASSERT_TRUE(window->app().state().check.has_value());
    again.key(GLFW_KEY_E);
    again.picture("09-explained");
    again.key(GLFW_KEY_ESCAPE);
    again.key(GLFW_KEY_S);
    again.type("its processor is on loan tonight");
    again.picture("10-skip");
    again.press("slip-yes");
    EXPECT_EQ(records(*window).page.tally.counts().skipped, counts.skipped + 1);

    // What is seen on the walk is written down, with a photo; the audit and the certificates are a key or a press away.
    again.key(GLFW_KEY_N);
    again.type("shackle replaced");
    again.picture("10-note");
    again.key(GLFW_KEY_ENTER);
    const fs::path photo = place / "shackle.png";
    ASSERT_TRUE(window->save_picture(photo).has_value());  // any picture will do
    again.key(GLFW_KEY_2);
    window->app().drop(photo);
    window->input().left_window();  // any input: the window wakes
    again.press("note-incident");
    again.picture("10-photo");
    again.press("slip-yes");
    ASSERT_EQ(records(*window).page.remarks.size(), 3U);
    again.picture("10-room-noted");
    for (const char* view : {"history", "notes", "times"}) {
        again.key(GLFW_KEY_7);
        again.press(std::string{"look-back-view:"} + view);
        again.picture(std::string{"10-look-back-"} + view);
    }
    // The photo is looked at, and put away again.
    again.press("look-back-view:notes");
    again.press("notes:0");
    window->app().ui().focus("notes");
    again.key(GLFW_KEY_ENTER);
    ASSERT_TRUE(window->app().desk().photo().found && window->app().desk().photo().found->has_value());
    again.picture("10-photo-shown");
    again.key(GLFW_KEY_ESCAPE);
    EXPECT_FALSE(window->app().desk().photo().found.has_value());
    // The gear is proven: loopback, mics against each other, calibrator; each says at once what it found.
    again.key(GLFW_KEY_9);
    for (const char* proof : {"loopback", "match", "calibrator"}) {
        again.press(proof);
        again.press("slip-yes");
        ASSERT_TRUE(window->app().desk().proof() && !window->app().desk().proof()->checks.empty()) << proof << (window->app().desk().proof() ? ": " + window->app().desk().proof()->says : "");
        again.picture(std::string{"10-proof-"} + proof);
        again.key(GLFW_KEY_ESCAPE);
    }
    again.press("certificate");
    again.type("m1 0417");
    again.key(GLFW_KEY_TAB);
    again.type("2999-01-01");
    again.picture("10-certificate");
    again.key(GLFW_KEY_ENTER);
    EXPECT_TRUE(std::ranges::any_of(records(*window).gear, [](const auto& record) { return record.check == "certificate"; }));
    EXPECT_TRUE(std::ranges::any_of(records(*window).gear, [](const auto& record) { return record.check == "sensitivity"; }));
    again.picture("10-gear-proven");
    again.key(GLFW_KEY_U);
    again.press("slip-yes");
    ASSERT_TRUE(window->app().desk().audited() && window->app().desk().audited()->found);
    EXPECT_TRUE(window->app().desk().audited()->found->sound());
    again.picture("10-audit");
    again.key(GLFW_KEY_ESCAPE);

    // Every exception is accepted by itself, then it is signed and the report written.
    again.key(GLFW_KEY_6);
    const auto& after = records(*window).page.tally.checks;
    for (const auto& check : after)
        if (check.verdict != verify::Verdict::pass) {
            const std::string id = fmt::format("accept-{}:{}", plan::word(check.kind), check.subject);
            if (again.sees(id)) again.press(id);
        }
    again.picture("11-ready-to-sign");
    again.key(GLFW_KEY_SPACE);
    ASSERT_EQ(records(*window).page.sign_offs.size(), 1U);
    EXPECT_EQ(records(*window).page.sign_offs.front().who, "R. Walker");
    EXPECT_FALSE(records(*window).page.sign_offs.front().stale);
    again.key(GLFW_KEY_SPACE);
    EXPECT_EQ(records(*window).page.sign_offs.size(), 1U) << "a glove that presses twice signs once";
    again.key(GLFW_KEY_R);
    ASSERT_TRUE(window->app().desk().report_file().has_value());
    EXPECT_TRUE(fs::exists(*window->app().desk().report_file()));
    again.picture("12-signed");

    // Curves on all papers and as files.
    again.key(GLFW_KEY_4);
    again.key(GLFW_KEY_X);
    EXPECT_TRUE(fs::exists(place / "small-rehearsal.curves"));
    for (int paper = 0; paper < 3; ++paper) {
        again.picture(fmt::format("13-curves-{}", word(window->app().state().settings.paper)));
        again.key(GLFW_KEY_P);
    }
    // Desk work: a box is aimed anew, taken back, done again and saved as the next revision; the sign-off goes stale.
    again.key(GLFW_KEY_8);
    again.press("design-tilt_deg:less");
    const double tilt = window->app().state().draft->plan().boxes.front().tilt_deg;
    again.key(GLFW_KEY_Z, modifier_control);
    EXPECT_NE(window->app().state().draft->plan().boxes.front().tilt_deg, tilt);
    again.key(GLFW_KEY_Y, modifier_control);
    EXPECT_EQ(window->app().state().draft->plan().boxes.front().tilt_deg, tilt);
    again.picture("14-design");
    again.press("save-plan");
    EXPECT_EQ(records(*window).page.plan_revision, 2);
    EXPECT_EQ(records(*window).plan().boxes.front().tilt_deg, tilt);
    EXPECT_TRUE(records(*window).page.sign_offs.front().stale);
    again.picture("15-next-revision");
    // What the log says is what the screen showed.
    const auto show = walk::open_show(place / "small-rehearsal.db", log::Mode::read);
    ASSERT_TRUE(show.has_value());
    const auto tally = walk::tally(*show);
    ASSERT_TRUE(tally.has_value());
    EXPECT_EQ(tally->plan_revision, 2);
}

}  // namespace
}  // namespace proofwalk::app
