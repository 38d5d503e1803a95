// What the sheets show: a copy of the log's records as they stood at one moment. Made on the worker's thread, never changed
// afterwards, so the screen never waits for the database.
#pragma once

#include <filesystem>
#include <map>
#include <memory>
#include <set>
#include <string>
#include <vector>

#include "report/report.hpp"
#include "report/room_layout.hpp"
#include "walk/heard_curves.hpp"
#include "walk/next.hpp"
#include "walk/session.hpp"
#include "walk/timed_steps.hpp"

namespace proofwalk::app {

// The walk against the clock: what fits, and what stays unproven in plain words.
struct Clock {
    std::vector<walk::Round> rounds;
    std::int64_t until_utc_s = 0;
    double minutes = 0.0;             // that were left when it was worked out
    double seconds = 0.0;             // that the takes will need
    std::size_t takes = 0;
    std::string risk;                 // "11 checks stay unproven, ..."; empty when all fits
    double risk_removed = 1.0;        // share of the risk that these takes remove, 0..1
    std::vector<walk::route::Unproven> unproven;  // largest risk first
};

struct Records {
    report::Show page;  // without curves
    walk::Path path;
    std::vector<plan::PlannedCheck> planned;
    std::vector<log::GearRecord> gear;
    std::vector<walk::TimedStep> steps_taken;  // as planned and as they went; none of a rehearsal
    std::vector<std::string> warnings;  // of the plan
    std::filesystem::path log_file;
    std::size_t takes = 0;
    std::string plan_text, plan_folder;     // as stored, for the design desk
    report::RoomLayout room, planned_room;  // with and without what fits say

    std::map<std::string, verify::Verdict, std::less<>> worst;  // of a box, over the checks that name it first
    std::set<std::string, std::less<>> heard;                   // circuits that a take was made of

    std::optional<Clock> clock;
    std::string gear_warning;  // until the gear is proven today, and while a proof of it failed; empty for a rehearsal

    void lay_out();  // fills room, planned_room, worst and heard

    [[nodiscard]] const plan::Plan& plan() const { return page.plan; }
    [[nodiscard]] const verify::CheckResult* check(const walk::CheckName& name) const;
    [[nodiscard]] const verify::Fit* fit(const std::string& box) const;
};
using RecordsPtr = std::shared_ptr<const Records>;  // null: no show is open

// How a walk is set up now.
struct WalkSetup {
    int mics = 8;
    bool rehearse = true;
    std::optional<std::int64_t> until;  // UTC seconds
    walk::Pace pace;
};
// What to take in the time that is left. Faults: the log.
[[nodiscard]] Result<Clock> against_the_clock(const walk::Show& show, const WalkSetup& setup);

// A walk that goes past midnight is one day: a proof counts for so long.
inline constexpr std::int64_t gear_day_s = 18 * 3600;
// What every sheet warns of: gear that was not proven today, or whose proof failed. Empty when there is nothing to warn of.
[[nodiscard]] std::string gear_warning(const std::vector<log::GearRecord>& gear, std::int64_t now_utc_s);

[[nodiscard]] Result<Records> gather(const walk::Show& show, const WalkSetup& setup, const std::vector<walk::Round>& rounds);

// What one mic of the newest take says: figures at once, their meaning when it is judged.
struct Card {
    std::string position, mic, circuit, label;
    std::optional<signal::Reading> reading;  // absent for a silence take
    std::optional<double> noise_dbfs;        // loudest third octave of a silence take
    std::vector<const verify::CheckResult*> meaning;  // into `records`
    RecordsPtr records;                      // what the meaning was taken from
};
[[nodiscard]] std::vector<Card> cards_of(const log::TakeRecord& take);
// The verdicts that a card's circuit and position serve; what to act on first.
void add_meaning(std::vector<Card>& cards, const RecordsPtr& records);

}  // namespace proofwalk::app
