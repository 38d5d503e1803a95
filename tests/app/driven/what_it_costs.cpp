// What frames, cards, the start and idling cost: figures for people to read, nothing is asserted about speed. The best of many
// frames, and the processor time of the whole process (the software renderer's threads too), because a shared machine waits.
#include <fmt/format.h>

#include <sys/resource.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "driven/hands.hpp"
#include "driven/open_window.hpp"
#include "shows.hpp"

namespace proofwalk::app {
namespace {

namespace fs = std::filesystem;

double processor_ms() {
    rusage usage{};
    getrusage(RUSAGE_SELF, &usage);
    const auto ms = [](const timeval& time) { return 1e3 * static_cast<double>(time.tv_sec) + 1e-3 * static_cast<double>(time.tv_usec); };
    return ms(usage.ru_utime) + ms(usage.ru_stime);
}

// A curve of a thousand points with its ribbon, as a take gives them.
std::shared_ptr<const std::vector<walk::HeardCurve>> made_up_curve(const std::string& box, const std::string& position, int number) {
    walk::HeardCurve heard;
    heard.newest = true;
    heard.curves.box = box;
    heard.curves.position = position;
    for (int i = 0; i < 1000; ++i) {
        const double share = i / 999.0;
        heard.curves.measured.hz.push_back(20.0 * std::pow(1000.0, share));
        heard.curves.measured.db.push_back(2.0 * number - 20.0 + 3.0 * std::sin(40.0 * share + number) + 2.0 * std::sin(211.0 * share));
        heard.curves.measured.u_db.push_back(0.4 + 0.3 * share);
        heard.curves.impulse_s.push_back(0.05 * share);
        heard.curves.impulse_db.push_back(-60.0 * share + 4.0 * std::sin(300.0 * share));
    }
    return std::make_shared<const std::vector<walk::HeardCurve>>(1, heard);
}

// Two hundred boxes; eight of one model were heard and are drawn one over the other.
Records with_eight_curves(Window& window) {
    Records records = made_up(200, "B", "Two hundred boxes (invented)");
    for (int i = 1; i <= 8; ++i) {
        const std::string box = "B" + std::to_string(i), position = "Bp" + std::to_string(i);
        report::ReadingRow row;
        row.taken = {"t01", box, "m1", position, {}};
        records.page.readings.push_back(row);
        window.app().desk().show_curves({box, position, 12.0}, made_up_curve(box, position, i));
    }
    records.lay_out();
    window.app().state().box = "B1";
    window.app().state().compare = 1;
    return records;
}

TEST(WhatItCosts, Frames) {
    const Place place;
    const double before_ms = processor_ms();
    auto window = open_window(place, std::nullopt);
    ASSERT_NE(window, nullptr);
    const double opened_ms = processor_ms() - before_ms;
    Hands hands{*window};
    window->turn(0.01);
    std::printf("first frame %.0f ms; processor %.0f ms, of it %.0f for the window and its context\n", window->timing().first_frame_ms, processor_ms() - before_ms, opened_ms);
    window->app().desk().show(std::make_shared<const Records>(with_eight_curves(*window)));
    constexpr int frames = 80;
    for (const auto& [sheet, name] : {std::pair{Sheet::tally, "tally of 200 rows"}, std::pair{Sheet::curves, "8 curves of 1,000 points, list of 200 rows"}, std::pair{Sheet::room, "room of 200 boxes"}, std::pair{Sheet::next, "next"}}) {
        window->app().state().sheet = sheet;
        double build_ms = std::numeric_limits<double>::max(), frame_ms = build_ms, started_ms = 0.0;
        for (int i = 0; i < frames + 5; ++i) {
            if (i == 5) started_ms = processor_ms();
            window->input().pointer({400.0F + static_cast<float>(i), 300.0F});
            window->repaint();
            window->turn(0.0);
            if (i < 5) continue;
            build_ms = std::min(build_ms, window->timing().build_ms);
            frame_ms = std::min(frame_ms, window->timing().frame_ms);
        }
        std::printf("%s at 1280x800: interface %.2f ms, frame %.1f ms (best of %d), processor %.1f ms a frame\n", name, build_ms, frame_ms, frames, (processor_ms() - started_ms) / frames);
        if (sheet == Sheet::curves) {
            // The dearest frame: the curves themselves change as they are zoomed.
            std::array<double, 21> zoomed_ms{};
            for (double& each : zoomed_ms) {
                window->input().wheel(1.0F);
                window->turn(0.0);
                each = window->timing().build_ms;
            }
            std::ranges::sort(zoomed_ms);
            std::printf("  while it is zoomed: interface %.2f ms (middle of 21)\n", zoomed_ms[10]);
        }
        hands.picture(fmt::format("cost-sheet-{}", static_cast<int>(sheet) + 1));
    }
    EXPECT_GT(window->timing().frames, 4L * frames);
}

TEST(WhatItCosts, Idling) {
    const Place place;
    auto window = open_window(place, std::nullopt);
    ASSERT_NE(window, nullptr);
    Hands hands{*window};
    window->app().desk().show(std::make_shared<const Records>(made_up(200, "B", "Two hundred boxes (invented)")));
    ASSERT_TRUE(hands.rest());
    const double before_ms = processor_ms();
    const long frames = window->timing().frames;
    constexpr double seconds = 5.0;
    const auto end = std::chrono::steady_clock::now() + std::chrono::duration<double>(seconds);
    while (std::chrono::steady_clock::now() < end) window->turn(std::chrono::duration<double>(end - std::chrono::steady_clock::now()).count());
    std::printf("idle for %.0f s: %.2f %% of a core, %ld frames\n", seconds, (processor_ms() - before_ms) / (10.0 * seconds), window->timing().frames - frames);
    EXPECT_EQ(window->timing().frames, frames) << "nothing changed, nothing is to be drawn";
}

// From the last sample to the cards of eight mics.
TEST(WhatItCosts, Cards) {
    const Place place;
    const fs::path plan = place.demo_plan();
    auto window = open_window(place, plan);
    ASSERT_NE(window, nullptr);
    Hands hands{*window};
    ASSERT_TRUE(hands.rest());
    hands.press("rehearse");
    window->app().state().settings.who = "R. Walker";
    window->app().state().armed = true;
    for (int take = 0; take < 6; ++take) {
        hands.key(GLFW_KEY_SPACE);
        const auto cards = window->app().desk().cards_after();
        ASSERT_TRUE(cards.has_value());
        std::printf("take %d: %zu cards %.0f ms after the last sample, of it measuring and storing %.0f, the window's own %.0f; verdicts %.0f ms after it\n", take + 1, window->app().desk().cards().size(),
                    cards->shown_ms, cards->stored_ms, cards->shown_ms - cards->stored_ms, cards->judged_ms);
    }
    EXPECT_EQ(window->app().desk().cards().size(), 8U);
}

}  // namespace
}  // namespace proofwalk::app
