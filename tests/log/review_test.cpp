// The review of one show and of a tour.
#include <gtest/gtest.h>

#include <algorithm>

#include "log/review.hpp"
#include "sample.hpp"

namespace proofwalk::log {
namespace {

using namespace sample;

verify::CheckResult check(plan::CheckKind kind, const std::string& subject, verify::Verdict verdict,
                          std::optional<double> value = std::nullopt, double uncertainty = 0.2) {
    verify::CheckResult result;
    result.kind = kind;
    result.subject = subject;
    result.verdict = verdict;
    result.value = value;
    result.unit = kind == plan::CheckKind::arrival ? "ms" : "dB";
    if (value) result.uncertainty = uncertainty;
    return result;
}

Origin at(std::int64_t utc_s, const std::string& who = "Ada Example") {
    Origin origin = sample::origin(who);
    origin.when.utc_s = utc_s;
    return origin;
}

TakeRecord take_at(const std::string& label, const std::string& circuit, std::int64_t utc_s) {
    TakeRecord record = take(label, 1, 1);
    record.sha256 = sha256(label + std::to_string(utc_s));
    record.sounding = {circuit};
    record.origin = at(utc_s);
    return record;
}

// A show on day `day`: M1's level creeps up, M2's polarity is wrong on day 2 and M3 is late on every day.
void write_show(const std::filesystem::path& file, int day) {
    Log log = opened(file);
    const std::int64_t start = 1'777'000'000 + 86'400 * day;
    ASSERT_TRUE(log.add_plan(sample::plan()).has_value());
    ASSERT_TRUE(log.add_take(take_at("t01", "M1", start), {}).has_value());
    ASSERT_TRUE(log.add_take(take_at("t02", "M2", start + 60), {}).has_value());
    ASSERT_TRUE(log.add_take(take_at("t03", "M3", start + 90), {}).has_value());
    verify::Judgement found;
    found.checks = {
        check(plan::CheckKind::level, "M1", verify::Verdict::pass, 0.1 * day, 0.15),
        check(plan::CheckKind::polarity, "M2", day == 2 ? verify::Verdict::fail : verify::Verdict::pass, day == 2 ? -1.0 : 1.0),
        check(plan::CheckKind::arrival, "M3", verify::Verdict::fail, 6.0),
        check(plan::CheckKind::aim_v, "M1", verify::Verdict::open),
        check(plan::CheckKind::aim_h, "M1", verify::Verdict::open),
        check(plan::CheckKind::level, "M2", verify::Verdict::pass, 0.02 * (day % 2), 0.15)};
    ASSERT_TRUE(log.add_judgement(found, log.newest_basis().value(), at(start + 91)).has_value());
    ASSERT_TRUE(log.add_skip({"aim-v", "M1", "no access", at(start + 95, "Ben Example")}).has_value());
    if (day > 1) {
        // M3 is put right after a pause and taken again.
        ASSERT_TRUE(log.add_take(take_at("t04", "M3", start + 90 + 3600), {}).has_value());
        found.checks[2] = check(plan::CheckKind::arrival, "M3", verify::Verdict::pass, 0.1);
        ASSERT_TRUE(log.add_judgement(found, log.newest_basis().value(), at(start + 3700)).has_value());
    }
    ASSERT_TRUE(log.add_note({0, "box M1", "cut out", true, {start + 9000, 0}, at(start + 9001)}).has_value());
    ASSERT_TRUE(log.add_sign_off({"engineer", at(start + 3800), {{"aim-h", "M1"}}, 1, 0, "", ""}).has_value());
}

TEST(Review, OneShowNamesWhatWasLeftOut) {
    const Folder folder;
    write_show(folder / "one.db", 0);
    const Review result = review({folder / "one.db"});
    ASSERT_EQ(result.shows.size(), 1u);
    const ReviewedShow& show = result.shows[0];
    EXPECT_EQ(show.plan_name, "Invented Hall");
    EXPECT_EQ(show.takes, 3);
    EXPECT_EQ(show.incidents, 1);
    EXPECT_EQ(show.sign_offs, 1);
    EXPECT_EQ(show.people, (std::vector<std::string>{"Ada Example", "Ben Example"}));
    EXPECT_EQ(show.counts.pass, 3);
    EXPECT_EQ(show.counts.fail, 1);
    EXPECT_EQ(show.counts.open, 1);
    EXPECT_EQ(show.counts.skipped, 1);
    EXPECT_DOUBLE_EQ(show.walk_s, 90.0);
    EXPECT_DOUBLE_EQ(show.pauses_s, 0.0);
    ASSERT_EQ(show.circuits.size(), 3u);
    EXPECT_EQ(show.circuits[0].circuit, "M2");
    EXPECT_DOUBLE_EQ(show.circuits[0].seconds, 60.0);
    ASSERT_EQ(result.left_out.size(), 3u);
    const auto how = [&](LeftOutHow wanted) { return std::ranges::find(result.left_out, wanted, &LeftOut::how); };
    EXPECT_EQ(how(LeftOutHow::skipped)->check, "aim-v");
    EXPECT_EQ(how(LeftOutHow::skipped)->who, "Ben Example");
    EXPECT_EQ(how(LeftOutHow::skipped)->why, "no access");
    EXPECT_EQ(how(LeftOutHow::never_measured)->check, "aim-h");
    EXPECT_EQ(how(LeftOutHow::signed_as_exception)->subject, "M1");
    EXPECT_TRUE(result.drifts.empty());
    EXPECT_TRUE(result.repeated.empty());
}

TEST(Review, ATourShowsDriftAndWhatComesBack) {
    const Folder folder;
    std::vector<std::filesystem::path> files;
    for (const int day : {3, 1, 0, 2}) {
        files.push_back(folder / ("day" + std::to_string(day) + ".db"));
        write_show(files.back(), day);
    }
    files.push_back(folder / "missing.db");
    const Review result = review(files);
    ASSERT_EQ(result.shows.size(), 4u);
    EXPECT_EQ(result.shows[0].file, folder / "day0.db") << "by time";
    ASSERT_EQ(result.unreadable.size(), 1u);
    EXPECT_EQ(result.shows[2].takes, 4);
    EXPECT_DOUBLE_EQ(result.shows[2].pauses_s, 3600.0);
    EXPECT_EQ(std::ranges::find(result.shows[2].circuits, "M3", &CircuitTime::circuit)->retakes, 1);

    const auto drift = [&](const std::string& subject, const std::string& check_word) {
        return *std::ranges::find_if(result.drifts, [&](const Drift& entry) {
            return entry.subject == subject && entry.check == check_word;
        });
    };
    const Drift level = drift("M1", "level");
    ASSERT_EQ(level.points.size(), 4u);
    EXPECT_NEAR(level.change, 0.3, 1e-12);
    EXPECT_NEAR(level.change_u, std::hypot(0.15, 0.15), 1e-12);
    // Equal weights: the slope of 0, 0.1, 0.2, 0.3 over 0..3 and u / sqrt(sum of squared distances from the middle, 5).
    EXPECT_NEAR(level.slope, 0.1, 1e-12);
    EXPECT_NEAR(level.slope_u, 0.15 / std::sqrt(5.0), 1e-12);
    EXPECT_TRUE(level.drifts);
    EXPECT_FALSE(drift("M2", "level").drifts);
    EXPECT_TRUE(drift("M2", "polarity").drifts) << "wrong once, right again";

    ASSERT_EQ(result.repeated.size(), 1u);
    EXPECT_EQ(result.repeated[0].subject, "M3");
    EXPECT_EQ(result.repeated[0].check, "arrival");
    EXPECT_EQ(result.repeated[0].shows.size(), 4u);
    EXPECT_EQ(result.repeated[0].standing, 2);
}

TEST(Review, ASkipEndsWithANewerTakeOrWhenItIsTakenUp) {
    const Folder folder;
    {
        Log log = opened(folder / "show.db");
        ASSERT_TRUE(log.add_take(take("before", 1, 1), {}).has_value());
        ASSERT_TRUE(log.add_skip({"level", "M4", "no time", origin()}).has_value());
        ASSERT_TRUE(log.add_skip({"level", "M1", "no time", origin()}).has_value());
        ASSERT_TRUE(log.add_skip({"level", "M2", "no time", origin()}).has_value());
        ASSERT_TRUE(log.add_skip({"level", "M3", "no time", origin()}).has_value());
        SkipRecord again{"level", "M2", "", origin()};
        again.taken_up = true;
        ASSERT_TRUE(log.add_skip(again).has_value());
        ASSERT_TRUE(log.add_take(take("after", 2, 1), {}).has_value());
        verify::Judgement found;
        found.checks = {check(plan::CheckKind::level, "M1", verify::Verdict::pass, 0.1),
                        check(plan::CheckKind::level, "M3", verify::Verdict::open),
                        check(plan::CheckKind::level, "M4", verify::Verdict::pass, 0.1)};
        found.checks[0].takes = {"before", "after"};
        found.checks[2].takes = {"before"};
        ASSERT_TRUE(log.add_judgement(found, {}, origin()).has_value());
    }
    const Review result = review({folder / "show.db"});
    ASSERT_EQ(result.left_out.size(), 2u);
    EXPECT_EQ(result.left_out[0].subject, "M3");
    EXPECT_EQ(result.left_out[1].subject, "M4") << "passed before it was skipped";
    EXPECT_EQ(result.shows[0].counts.skipped, 2);
    EXPECT_EQ(result.shows[0].counts.pass, 1);
}

}  // namespace
}  // namespace proofwalk::log
