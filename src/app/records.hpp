// What the sheets show: a copy of the log's records as they stood at one moment. Made on the worker's thread, never changed
// afterwards, so the screen never waits for the database.
#pragma once

#include <filesystem>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "report/report.hpp"
#include "report/room_layout.hpp"
#include "walk/heard_curves.hpp"
#include "walk/session.hpp"

namespace proofwalk::app {

struct Records {
    report::Show page;  // without curves
    walk::Path path;
    std::vector<plan::PlannedCheck> planned;
    std::vector<log::GearRecord> gear;
    std::vector<std::string> warnings;  // of the plan
    std::filesystem::path log_file;
    std::size_t takes = 0;
    std::string plan_text, plan_folder;     // as stored, for the design desk
    report::RoomLayout room, planned_room;  // with and without what fits say

    std::map<std::string, verify::Verdict, std::less<>> worst;  // of a box, over the checks that name it first

    void lay_out();  // fills room, planned_room and worst

    [[nodiscard]] const plan::Plan& plan() const { return page.plan; }
    [[nodiscard]] const verify::CheckResult* check(const walk::CheckName& name) const;
    [[nodiscard]] const verify::Fit* fit(const std::string& box) const;
};
using RecordsPtr = std::shared_ptr<const Records>;  // null: no show is open

// How a walk is set up now.
struct WalkSetup {
    int mics = 8;
    walk::Pace pace;
};
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
