// Takes from the sheets: a round as a sequence with its keys, the walk against the clock, the gear's warning, and a process that
// is killed in the middle of it.
#include <GLFW/glfw3.h>
#include <signal.h>
#include <sys/wait.h>

#include "shows.hpp"
#include "table.hpp"
#include "units/utc.hpp"

namespace proofwalk::app {
namespace {

TEST(Round, TakesOneCircuitAfterAnother) {
    const Place place;
    Table table;
    begin_rehearsal(table, place);
    table.key(GLFW_KEY_G);
    const auto& path = table.app().desk().records()->path;
    EXPECT_EQ(path.done, path.steps.size());
    EXPECT_FALSE(path.now.has_value());
    EXPECT_EQ(table.app().state().sheet, Sheet::take);
    EXPECT_FALSE(table.app().desk().cards().empty());
    ASSERT_TRUE(table.app().desk().cards_after().has_value());
    EXPECT_LE(table.app().desk().cards_after()->shown_ms, table.app().desk().cards_after()->judged_ms) << "figures stand before their verdicts";
    EXPECT_EQ(table.app().desk().take_view().phase, TakeView::Phase::none);
    for (const auto& notice : table.app().desk().notices()) EXPECT_FALSE(notice.fault) << notice.text;
}

TEST(Round, PausesSkipsAndStopsByKeys) {
    const Place place;
    Table table;
    begin_rehearsal(table, place, 30.0);  // long enough for hands
    const auto frames = [&](auto until) {
        for (int i = 0; i < 5000 && !until(); ++i) {
            table.frame();
            std::this_thread::sleep_for(std::chrono::milliseconds(2));
        }
        ASSERT_TRUE(until());
    };
    const auto tap = [&](int key) {
        table.input().key(key, 0, true, false);
        table.input().key(key, 0, false, false);
        while (!table.input().empty()) table.frame();
    };
    const auto phase = [&] {
        const auto view = table.app().desk().take_view();
        return view.run ? view.run->phase : walk::SequencePhase::over;
    };
    tap(GLFW_KEY_G);
    frames([&] { return phase() == walk::SequencePhase::count_in; });
    table.frame();
    table.check_drawing();
    EXPECT_TRUE(table.app().ui().places().contains("run-skip"));
    tap(GLFW_KEY_S);  // the noise is left out
    frames([&] { return table.app().desk().take_view().run && table.app().desk().take_view().run->at == 1; });
    tap(GLFW_KEY_SPACE);  // at once
    frames([&] { return table.app().desk().records()->path.done >= 1 || !table.app().desk().cards().empty(); });
    tap(GLFW_KEY_ESCAPE);
    table.settle();
    EXPECT_EQ(table.app().desk().take_view().phase, TakeView::Phase::none);
    EXPECT_TRUE(table.app().desk().records()->path.now.has_value()) << "the rest is still to come";
}

TEST(Round, AWindowThatClosesInACountInWaitsForNobody) {
    const Place place;
    Table table;
    begin_rehearsal(table, place, 600.0);
    table.app().desk().take_round(0, table.app().state().settings);
    for (int i = 0; i < 20; ++i) table.frame();
    // The destructor must end the sequence; a test that hangs here has failed.
}

TEST(AgainstTheClock, SaysWhatFitsAndWhatStaysUnproven) {
    const Place place;
    Table table;
    begin_rehearsal(table, place);
    EXPECT_FALSE(table.app().desk().records()->clock.has_value());
    Settings& settings = table.app().state().settings;
    settings.until_utc_s = now().utc_s + 10;  // nothing can be proven in ten seconds
    table.app().desk().refresh(settings);
    table.settle();
    ASSERT_TRUE(table.app().desk().records()->clock.has_value());
    const Clock short_one = *table.app().desk().records()->clock;
    EXPECT_FALSE(short_one.unproven.empty());
    EXPECT_FALSE(short_one.risk.empty());
    EXPECT_LT(short_one.risk_removed, 1.0);
    table.app().state().sheet = Sheet::next;
    table.settle();
    table.check_drawing();
    settings.until_utc_s = now().utc_s + 3 * 3600;
    table.app().desk().refresh(settings);
    table.settle();
    const Clock& long_one = *table.app().desk().records()->clock;
    EXPECT_GT(long_one.takes, 0U);
    EXPECT_LT(long_one.unproven.size(), short_one.unproven.size() + 1);
    EXPECT_GE(long_one.risk_removed, short_one.risk_removed);
}

TEST(AgainstTheClock, IsSetInStepsOfFiveMinutes) {
    const Place place;
    Table table;
    begin_rehearsal(table, place);
    table.press("minutes:more");
    table.press("minutes:more");
    const auto& until = table.app().state().settings.until_utc_s;
    ASSERT_TRUE(until.has_value());
    EXPECT_NEAR(static_cast<double>(*until - now().utc_s), 600.0, 90.0);
    EXPECT_TRUE(table.app().desk().records()->clock.has_value());
    for (int i = 0; i < 3; ++i) table.press("minutes:less");
    EXPECT_FALSE(until.has_value());
    EXPECT_FALSE(table.app().desk().records()->clock.has_value());
}

log::GearRecord proof(const std::string& check, const std::string& verdict, std::int64_t ago_s) {
    log::GearRecord record;
    record.check = check;
    record.subject = "input 1";
    record.verdict = verdict;
    record.says = "as it should";
    record.origin.when.utc_s = 1777734245 - ago_s;
    return record;
}

TEST(GearWarning, StandsUntilTheLoopbackIsProvenToday) {
    const std::int64_t present = 1777734245;
    EXPECT_FALSE(gear_warning({}, present).empty());
    EXPECT_FALSE(gear_warning({proof("sensitivity", "pass", 60)}, present).empty()) << "a calibrator proves no loopback";
    EXPECT_TRUE(gear_warning({proof("loopback", "pass", 60)}, present).empty());
    EXPECT_TRUE(gear_warning({proof("loopback", "pass", 10 * 3600)}, present).empty()) << "past midnight is the same day's walk";
    EXPECT_FALSE(gear_warning({proof("loopback", "pass", 30 * 3600)}, present).empty());
    EXPECT_FALSE(gear_warning({proof("loopback", "open", 60)}, present).empty());
    const std::string failed = gear_warning({proof("loopback", "pass", 120), proof("loopback", "fail", 60)}, present);
    EXPECT_NE(failed.find("withheld"), std::string::npos) << failed;
}

TEST(GearWarning, IsOnEverySheetOfARealWalkAndLeadsToTheGear) {
    Table table;
    auto records = std::make_shared<Records>(made_up(4, "B", "Unproven (invented)"));
    records->gear_warning = gear_warning({}, 1777734245);
    table.app().desk().show(records);
    for (std::size_t sheet = 0; sheet < sheet_count; ++sheet) {
        table.app().state().sheet = static_cast<Sheet>(sheet);
        table.settle();
        EXPECT_TRUE(table.app().ui().places().contains("gear-warning")) << "sheet " << sheet;
    }
    table.app().state().sheet = Sheet::next;
    table.settle();
    table.press("gear-warning");
    EXPECT_EQ(table.app().state().sheet, Sheet::gear);
}

// The process is killed while the second take runs: what was durable is there, the walk goes on at the same step.
TEST(Killed, TheWalkGoesOnAtTheSameStep) {
    const Place place;
    const auto conf = place / "window.conf";
    const pid_t child = fork();
    ASSERT_GE(child, 0);
    if (child == 0) {
        AppOptions options;
        options.settings_file = conf;
        Table table{1280.0F, 800.0F, options};
        begin_rehearsal(table, place);
        table.key(GLFW_KEY_SPACE);
        table.app().desk().take(1, table.app().state().settings);
        while (table.app().desk().take_view().done_s <= 0.0) table.frame();
        kill(getpid(), SIGKILL);
    }
    int status = 0;
    ASSERT_EQ(waitpid(child, &status, 0), child);
    ASSERT_TRUE(WIFSIGNALED(status)) << "it had to be killed, not to end";
    ASSERT_EQ(WTERMSIG(status), SIGKILL);
    AppOptions options;
    options.settings_file = conf;
    Table table{1280.0F, 800.0F, options};
    table.settle();
    const auto records = table.app().desk().records();
    ASSERT_NE(records, nullptr) << "the last show opens by itself";
    EXPECT_GE(records->path.done, 1U);
    EXPECT_LE(records->path.done, 2U);
    EXPECT_EQ(records->path.now, records->path.done);
    EXPECT_EQ(table.app().state().settings.who, "R. Walker");
    EXPECT_FALSE(table.app().state().armed) << "nothing plays before it is armed again";
    table.app().state().armed = true;
    const std::size_t before = records->path.done;
    table.key(GLFW_KEY_SPACE);
    EXPECT_EQ(table.app().desk().records()->path.done, before + 1);
}

}  // namespace
}  // namespace proofwalk::app
