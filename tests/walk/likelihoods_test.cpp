#include "walk/likelihoods.hpp"

#include <unistd.h>

#include <gtest/gtest.h>

#include "log/log.hpp"

namespace proofwalk::walk {
namespace {

using route::Odds;

class Folder : public testing::Test {
protected:
    Folder() : path_(std::filesystem::temp_directory_path() / ("likelihoods_" + std::to_string(::getpid()))) { std::filesystem::create_directories(path_); }
    ~Folder() override { std::filesystem::remove_all(path_); }
    std::filesystem::path path_;
};

using Likelihoods = Folder;

verify::CheckResult judged(plan::CheckKind kind, std::string subject, verify::Verdict verdict) {
    verify::CheckResult check;
    check.kind = kind;
    check.subject = std::move(subject);
    check.verdict = verdict;
    return check;
}

void add_judgement(log::Log& log, std::vector<verify::CheckResult> checks) {
    verify::Judgement judgement;
    judgement.checks = std::move(checks);
    ASSERT_TRUE(log.add_judgement(judgement, {}, {}));
}

TEST_F(Likelihoods, FollowWhatEarlierLogsFoundEvenWhenItWasPutRight) {
    using enum plan::CheckKind;
    const auto file = path_ / "show.db";
    {
        auto log = log::Log::open(file, log::Mode::write);
        ASSERT_TRUE(log) << sentence(log.error());
        add_judgement(*log, {judged(polarity, "A", verify::Verdict::fail), judged(polarity, "B", verify::Verdict::pass), judged(level, "A", verify::Verdict::open)});
        add_judgement(*log, {judged(polarity, "A", verify::Verdict::pass), judged(polarity, "B", verify::Verdict::pass), judged(level, "A", verify::Verdict::open)});
    }
    const EarlierShows earlier = earlier_shows({file, path_ / "none.db"});
    EXPECT_EQ(earlier.logs, 1u);
    EXPECT_EQ(earlier.faults.size(), 1u);
    EXPECT_EQ(earlier.outcomes.judged[static_cast<std::size_t>(polarity)], 2);
    EXPECT_EQ(earlier.outcomes.failed[static_cast<std::size_t>(polarity)], 1);
    EXPECT_EQ(earlier.outcomes.judged[static_cast<std::size_t>(level)], 0);

    // Written, edited by hand or not, and read again.
    const auto kept = path_ / "likelihoods.txt";
    ASSERT_TRUE(write_likelihoods(kept, likelihoods_text(Odds{}, earlier)));
    const auto odds = read_likelihoods(Odds{}, kept);
    ASSERT_TRUE(odds);
    EXPECT_NEAR(odds->fault_of(polarity), (20.0 * Odds{}.fault_of(polarity) + 1.0) / 22.0, 1e-4);
    EXPECT_NEAR(odds->fault_of(aim_v), Odds{}.fault_of(aim_v), 1e-12);
}

TEST_F(Likelihoods, FaultsOfTheFileNameTheLine) {
    const auto bad = likelihoods_of(Odds{}, "# words\n\naim-v = 0.1 # fine\naim-w = 0.2\nlevel = 3\npolarity\n", "mine.txt");
    ASSERT_FALSE(bad);
    ASSERT_EQ(bad.error().size(), 3u);
    EXPECT_EQ(bad.error()[0].place, "line 4");
    EXPECT_EQ(bad.error()[2].place, "line 6");
    EXPECT_NE(sentence(bad.error()[1]).find("mine.txt"), std::string::npos);
    const auto good = likelihoods_of(Odds{}, "aim-v=0.25", "mine.txt");
    ASSERT_TRUE(good);
    EXPECT_EQ(good->fault_of(plan::CheckKind::aim_v), 0.25);
    EXPECT_FALSE(read_likelihoods(Odds{}, path_ / "none.txt"));
    EXPECT_FALSE(read_likelihoods(Odds{}, path_));
    EXPECT_FALSE(write_likelihoods(path_ / "no" / "folder.txt", "x"));
}

}  // namespace
}  // namespace proofwalk::walk
