// The parts under the sheets: input in order, keys, settings, papers, scales and files.
#include <GLFW/glfw3.h>
#include <gtest/gtest.h>
#include <imgui.h>

#include <fmt/format.h>

#include <cmath>
#include <random>

#include "app/app.hpp"
#include "app/plot_export.hpp"
#include "place.hpp"
#include "units/bands.hpp"

namespace proofwalk::app {
namespace {

class Context {
public:
    Context() : context_(ImGui::CreateContext()) { ImGui::GetIO().IniFilename = nullptr; }
    ~Context() { ImGui::DestroyContext(context_); }

private:
    ImGuiContext* context_;
};

TEST(InputQueue, TwentyClicksAtOnceAreTwentyClicks) {
    const Context context;
    InputQueue queue;
    for (int i = 0; i < 20; ++i) queue.button(0, true), queue.button(0, false);
    int clicks = 0;
    bool was_down = false;
    while (!queue.empty()) {
        queue.feed(ImGui::GetIO());
        const bool down = ImGui::GetIO().MouseDown[0];
        clicks += down && !was_down ? 1 : 0;
        was_down = down;
    }
    EXPECT_EQ(clicks, 20);
}

TEST(InputQueue, EveryStrokeComesOutInOrder) {
    const Context context;
    InputQueue queue;
    std::vector<int> struck, came;
    for (int key = GLFW_KEY_A; key <= GLFW_KEY_Z; ++key) {
        struck.push_back(key);
        queue.key(key, 0, true, false);
        queue.key(key, 0, false, false);
    }
    while (!queue.empty())
        if (const auto stroke = queue.feed(ImGui::GetIO())) came.push_back(stroke->key);
    EXPECT_EQ(came, struck);
    for (const bool down : ImGui::GetIO().KeysDown) EXPECT_FALSE(down);
}

TEST(InputQueue, LeavingTheWindowReleasesEverything) {
    const Context context;
    InputQueue queue;
    queue.key(GLFW_KEY_LEFT_SHIFT, modifier_shift, true, false);
    queue.button(0, true);
    queue.left_window();
    while (!queue.empty()) queue.feed(ImGui::GetIO());
    EXPECT_FALSE(ImGui::GetIO().KeyShift);
    EXPECT_FALSE(ImGui::GetIO().MouseDown[0]);
}

TEST(InputQueue, StrangeKeysAreLeftOut) {
    const Context context;
    InputQueue queue;
    queue.key(-1, 0, true, false);
    queue.key(100000, 0, true, false);
    queue.button(77, true);
    EXPECT_TRUE(queue.empty());
}

TEST(Keys, EveryDefaultReadsBackFromItsFile) {
    const Keys defaults;
    Keys read;
    EXPECT_TRUE(read.read(defaults.as_file(), "keys.conf").empty());
    for (const Act act : all_acts()) EXPECT_EQ(read.shown(act), defaults.shown(act)) << word(act);
}

TEST(Keys, NoTwoActionsShareADefaultKey) {
    const Keys keys;
    std::set<std::string> seen;
    for (const Act act : all_acts()) EXPECT_TRUE(seen.insert(keys.shown(act)).second) << word(act);
}

TEST(Keys, OwnKeysAndFaultsBesideThem) {
    Keys keys;
    const auto faults = keys.read("# mine\nskip = f5\n go=pad-enter # glove\nskipp = x\nretake = nonsense\nno equals\n", "keys.conf");
    ASSERT_EQ(faults.size(), 3U);
    EXPECT_NE(sentence(faults[0]).find("did you mean \"skip\""), std::string::npos) << sentence(faults[0]);
    EXPECT_EQ(faults[0].place, "line 4");
    EXPECT_TRUE(keys.asks({GLFW_KEY_F5, 0, false}, Act::skip));
    EXPECT_FALSE(keys.asks({GLFW_KEY_S, 0, false}, Act::skip));
    EXPECT_TRUE(keys.asks({GLFW_KEY_KP_ENTER, 0, false}, Act::go));
    EXPECT_TRUE(keys.asks({GLFW_KEY_T, 0, false}, Act::retake));
    EXPECT_FALSE(keys.asks({GLFW_KEY_Z, 0, false}, Act::undo));
    EXPECT_TRUE(keys.asks({GLFW_KEY_Z, modifier_control, false}, Act::undo));
}

TEST(Settings, EveryFieldComesBack) {
    Settings settings;
    settings.last_log = "/shows/hall \u97f3.db";
    settings.recent = {"/shows/a.db", "/shows/b = c.db"};
    settings.paper = PaperKind::print;
    settings.larger = 1.25;
    settings.who = "R. Walker";
    settings.role = "FOH";
    settings.rehearse = false;
    settings.device = "USB = Audio";
    settings.reference = 3;
    settings.mics = 5;
    settings.level_dbfs = -26.0;
    settings.length_s = 2.5;
    settings.seed = 77;
    settings.snr_db = 25.0;
    settings.faults = "M1:aim-v:-5 FF:polarity";
    settings.count_in_s = 7.5;
    settings.by_hand = false;
    settings.until_utc_s = 1777734245;
    settings.sheet = 4;
    const Settings back = settings_from_text(to_text(settings));
    EXPECT_EQ(to_text(back), to_text(settings));
    EXPECT_EQ(back.recent, settings.recent);
    EXPECT_EQ(back.device, settings.device);
}

TEST(Settings, WhatCannotBeReadKeepsItsDefault) {
    const Settings broken = settings_from_text("paper = neon\nmics = -4\nlevel-dbfs = 12\nseed = x\nlarger = nan\n= \n\0\xff = 3\nlength-s = 1e300\n");
    EXPECT_EQ(to_text(broken), to_text(Settings{}));
    EXPECT_EQ(to_text(load_settings("/nowhere/at/all")), to_text(Settings{}));
}

TEST(Settings, ALineBreakInANameDoesNotBreakTheFile) {
    Settings settings;
    settings.who = "R.\nmics = 1";
    EXPECT_EQ(settings_from_text(to_text(settings)).mics, Settings{}.mics);
}

TEST(Settings, AreWrittenAtOnceOrNotAtAll) {
    const Place place;
    Settings settings;
    settings.who = "R. Walker";
    ASSERT_TRUE(save_settings(settings, place / "deep/er/window.conf").has_value());
    EXPECT_EQ(load_settings(place / "deep/er/window.conf").who, "R. Walker");
    place.write("file", "");
    EXPECT_FALSE(save_settings(settings, place / "file/window.conf").has_value());
}

// WCAG 2.1, 1.4.3 (text 4.5:1, 7:1 enhanced) and 1.4.11 (marks and lines 3:1); thresholds from memory.
TEST(Papers, InkAndMarksStandOut) {
    for (const PaperKind kind : {PaperKind::hall, PaperKind::day, PaperKind::print}) {
        const Paper& sheet = paper(kind);
        SCOPED_TRACE(word(kind));
        EXPECT_GE(contrast(sheet.ink, sheet.ground), kind == PaperKind::hall ? 7.0 : 15.0);
        EXPECT_GE(contrast(sheet.faint, sheet.ground), 4.5);
        EXPECT_GE(contrast(sheet.ink, sheet.selected), 4.5);
        for (const auto verdict : {verify::Verdict::pass, verify::Verdict::fail, verify::Verdict::unsure, verify::Verdict::open, verify::Verdict::skipped})
            EXPECT_GE(contrast(sheet.tone(verdict), sheet.ground), 3.0) << verify::word(verdict);
        for (std::size_t c = 0; c < 4; ++c) EXPECT_GE(contrast(sheet.curves[c], sheet.ground), 2.2) << c;
    }
}

TEST(Papers, NothingInTheHallLightsAFace) {
    const Paper& hall = paper(PaperKind::hall);
    EXPECT_LT(luminance(hall.ground), 0.02);
    EXPECT_LT(luminance(hall.ink), 0.55);
}

TEST(Papers, ContrastOfBlackAndWhiteIsTwentyOne) { EXPECT_NEAR(contrast(rgb(0x000000), rgb(0xFFFFFF)), 21.0, 1e-9); }

TEST(Scale, PlacesAndValuesAreInverse) {
    for (const bool logarithmic : {false, true}) {
        const Scale scale{{20.0, 20000.0}, 100.0F, 900.0F, logarithmic};
        EXPECT_FLOAT_EQ(scale.place(20.0), 100.0F);
        EXPECT_FLOAT_EQ(scale.place(20000.0), 900.0F);
        for (const double value : {25.0, 1000.0, 12500.0}) EXPECT_NEAR(scale.value(scale.place(value)), value, 2e-4 * value + 0.5 * !logarithmic);
    }
}

// IEC 61260-1 base-ten midbands with the nominal labels of ISO 266: an octave apart where each has 34 px.
TEST(Scale, ThirdOctaveTicksCarryNominalLabels) {
    const Scale wide{{20.0, 20000.0}, 0.0F, 2000.0F, true};
    const auto all = third_octave_ticks(wide, 34.0F);
    EXPECT_EQ(all.size(), band_count);
    for (const auto& tick : all) EXPECT_FALSE(tick.label.empty());
    const auto octaves = third_octave_ticks({{20.0, 20000.0}, 0.0F, 500.0F, true}, 34.0F);
    std::vector<std::string> labels;
    for (const auto& tick : octaves)
        if (!tick.label.empty()) labels.push_back(tick.label);
    EXPECT_EQ(labels, (std::vector<std::string>{"31.5", "63", "125", "250", "500", "1k", "2k", "4k", "8k", "16k"}));
    for (const auto& tick : octaves) EXPECT_EQ(tick.strong, std::abs(std::log10(tick.value) - std::round(std::log10(tick.value))) < 1e-6);
}

TEST(Scale, LinearTicksHaveRoundSteps) {
    std::mt19937 random{3};
    std::uniform_real_distribution<double> low(-500.0, 500.0), length(1e-3, 1e4);
    for (int i = 0; i < 500; ++i) {
        const double from = low(random);
        const Scale scale{{from, from + length(random)}, 0.0F, 400.0F, false};
        const auto ticks = linear_ticks(scale, 40.0F);
        ASSERT_LE(ticks.size(), 11U);
        for (std::size_t t = 1; t < ticks.size(); ++t) {
            const double step = ticks[t].value - ticks[t - 1].value;
            const double mantissa = step / std::pow(10.0, std::floor(std::log10(step) + 1e-9));
            EXPECT_TRUE(std::abs(mantissa - 1.0) < 1e-3 || std::abs(mantissa - 2.0) < 1e-3 || std::abs(mantissa - 5.0) < 1e-3) << step;
        }
    }
    EXPECT_TRUE(linear_ticks({{1.0, 1.0}, 0.0F, 400.0F, false}, 40.0F).empty());
}

TEST(Scale, DegreeTicksArePartsOfATurn) {
    for (const float tall : {40.0F, 120.0F, 200.0F, 600.0F}) {
        const auto ticks = degree_ticks({{-190.0, 190.0}, tall, 0.0F, false}, 24.0F);
        ASSERT_GE(ticks.size(), 3U);
        for (const Tick& tick : ticks) EXPECT_NEAR(std::remainder(tick.value, 15.0), 0.0, 1e-9);
        EXPECT_DOUBLE_EQ(ticks.front().value, -180.0);
        EXPECT_DOUBLE_EQ(ticks.back().value, 180.0);
        if (ticks.size() > 3) { EXPECT_GE(tall / 380.0F * (ticks[1].value - ticks[0].value), 23.9); }
    }
}

TEST(Thinning, KeepsExtremesAndStaysSmall) {
    std::vector<double> x, y;
    for (int i = 0; i < 40000; ++i) {
        x.push_back(i);
        y.push_back(i == 12345 ? 100.0 : i == 30001 ? -100.0 : std::sin(i));
    }
    const Scale across{{0.0, 40000.0}, 0.0F, 800.0F, false}, up{{-100.0, 100.0}, 400.0F, 0.0F, false};
    const auto lines = thinned(x, y, across, up);
    ASSERT_EQ(lines.size(), 1U);
    EXPECT_LE(lines[0].size(), 801U * 4U);
    float highest = 1e9F, lowest = -1e9F;
    for (const Point& point : lines[0]) highest = std::min(highest, point.y), lowest = std::max(lowest, point.y);
    EXPECT_FLOAT_EQ(highest, 0.0F);
    EXPECT_FLOAT_EQ(lowest, 400.0F);
}

TEST(Thinning, GapsSplitTheLine) {
    const std::vector<double> x = {1, 2, 3, 4, 5}, y = {0, 0, std::nan(""), 0, 0};
    EXPECT_EQ(thinned(x, y, {{1, 5}, 0, 100, false}, {{-1, 1}, 100, 0, false}).size(), 2U);
    EXPECT_TRUE(thinned({}, {}, {}, {}).empty());
}

TEST(Plot, ValueBetweenPoints) {
    const std::vector<double> x = {100.0, 1000.0, 10000.0}, y = {0.0, 10.0, 20.0};
    EXPECT_NEAR(*value_at(x, y, std::sqrt(100.0 * 1000.0), true), 5.0, 1e-9);
    EXPECT_DOUBLE_EQ(*value_at(x, y, 10000.0, true), 20.0);
    EXPECT_FALSE(value_at(x, y, 99.0, true).has_value());
}

TEST(Plot, ZoomKeepsThePointUnderTheHandAndTheLimits) {
    const Span all{20.0, 20000.0};
    const Span near = zoomed(all, 0.5, 1000.0, true, all);
    const Scale before{all, 0.0F, 1000.0F, true}, after{near, 0.0F, 1000.0F, true};
    EXPECT_NEAR(before.place(1000.0), after.place(1000.0), 0.5F);
    EXPECT_NEAR(zoomed(near, 100.0, 1000.0, true, all).low, 20.0, 1e-9);
    const Span moved = panned(near, -10.0, true, all);
    EXPECT_NEAR(moved.low, 20.0, 1e-9);
    EXPECT_NEAR(std::log10(moved.high / moved.low), std::log10(near.high / near.low), 1e-9);
}

Plot example_plot() {
    Plot plot;
    plot.title = "M1 <at> p1 & \"more\"";
    plot.x_unit = "Hz";
    plot.y_unit = "dB";
    plot.y = {-60.0, -20.0};
    plot.curves.push_back({"M1, left", {100.0, 1000.0, 10000.0}, {-40.0, std::nan(""), -45.5}, {1.0, 1.0, 1.0}, 0, false});
    plot.curves.push_back({"plan", {100.0, 10000.0}, {-41.0, -41.0}, {}, 4, true});
    plot.marks.push_back({500.0, "gate <3 ms>", true, {}});
    return plot;
}

TEST(Plot, AsTableForOtherPrograms) {
    const std::string csv = plot_csv(example_plot());
    EXPECT_EQ(csv,
              "curve,frequency_Hz,level_dB,standard_uncertainty_dB\n"
              "\"M1, left\",100,-40,1\n\"M1, left\",1000,,1\n\"M1, left\",10000,-45.5,1\nplan,100,-41,\nplan,10000,-41,\n");
}

TEST(Plot, AsSvgWithoutBareSignsOrNaN) {
    const std::string svg = plot_svg(example_plot(), PaperKind::print);
    EXPECT_EQ(svg.find("nan"), std::string::npos);
    EXPECT_NE(svg.find("M1 &lt;at&gt; p1 &amp; &quot;more&quot;"), std::string::npos);
    EXPECT_NE(svg.find("stroke-dasharray"), std::string::npos);
    EXPECT_TRUE(svg.starts_with("<svg ") && svg.ends_with("</svg>\n"));
}

TEST(Worker, RunsInOrderReportsAndHandsBack) {
    std::atomic<int> wakes{0};
    Worker worker{[&] { ++wakes; }};
    std::vector<int> order;
    for (int i = 0; i < 5; ++i)
        worker.run("counting", [&order, i](Worker::Job& job) {
            job.progress(i, 5);
            job.hand_back([&order, i] { order.push_back(i); });
        });
    while (!worker.idle()) worker.deliver(), std::this_thread::yield();
    EXPECT_EQ(order, (std::vector<int>{0, 1, 2, 3, 4}));
    EXPECT_GE(wakes, 5);
}

TEST(Worker, AStopEndsTheRunningJobOnly) {
    Worker worker{[] {}};
    std::atomic<bool> began{false}, second{false};
    worker.run("long", [&](Worker::Job& job) {
        began = true;
        while (!job.stop()) std::this_thread::yield();
    });
    worker.run("short", [&](Worker::Job& job) { second = !job.stop(); });
    while (!began) std::this_thread::yield();
    ASSERT_TRUE(worker.running().has_value());
    EXPECT_EQ(worker.running()->what, "long");
    worker.stop();
    while (!worker.idle()) std::this_thread::yield();
    EXPECT_TRUE(second);
}

TEST(Worker, ClosingStopsWhatRunsAndDropsWhatWaits) {
    bool waited_ran = false;
    {
        Worker worker{[] {}};
        worker.run("long", [](Worker::Job& job) {
            while (!job.stop()) std::this_thread::yield();
        });
        worker.run("never", [&](Worker::Job&) { waited_ran = true; });
    }
    EXPECT_FALSE(waited_ran);
}

TEST(Files, ALogIsKnownByItsFirstBytes) {
    const Place place;
    EXPECT_FALSE(is_log(place.write("a.db", "SQLite")));
    EXPECT_FALSE(is_log(place.write("b.db", "format = \"proofwalk.plan/1\"\n")));
    EXPECT_TRUE(is_log(place.write("c.db", std::string("SQLite format 3\0rest", 20))));
    EXPECT_FALSE(is_log(place / "not-there"));
    EXPECT_EQ(log_for_plan("/x/hall.toml", true), "/x/hall-rehearsal.db");
    EXPECT_EQ(log_for_plan("/x/hall.toml", false), "/x/hall.db");
}

}  // namespace
}  // namespace proofwalk::app
