// What the screen remembers between frames: which sheet, what is selected, what is being typed. One selection for all
// sheets: a box chosen anywhere is chosen everywhere.
#pragma once

#include <filesystem>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "app/plan_edit.hpp"
#include "app/plot.hpp"
#include "app/settings.hpp"
#include "app/tally_table.hpp"
#include "app/ui.hpp"
#include "report/room_layout.hpp"
#include "walk/gear_take.hpp"
#include "walk/session.hpp"

namespace proofwalk::app {

enum class Sheet { next, room, take, curves, tally, sign, look_back, design, gear };
inline constexpr std::size_t sheet_count = 9;

// A small paper laid over the sheet: one question, answered or put away.
enum class Slip { none, open, skip, change, explain, arm, keys, estimate, place_mics, question, note, audit, certificate, prove, photo };

struct State {
    Settings settings;
    Sheet sheet = Sheet::next;
    Slip slip = Slip::none, slip_below = Slip::none;  // below a question, which is asked at once
    bool slip_is_new = false;

    std::string box;                          // selected; empty: none
    std::string position;
    bool position_newest = false;             // it was chosen after the box
    std::optional<walk::CheckName> check;
    std::optional<std::size_t> step;          // chosen by hand; absent: what the path says is now
    bool armed = false;                       // the caution was read and the area cleared, for this session and source

    ListState path_list, tally_list, files_list, history_list, curve_list, exceptions_list, past_list, notes_list, times_list, device_list, keys_list, target_list;

    std::filesystem::path offered;            // the plan that is being looked at before its walk begins

    // Slips
    std::string listed_path;
    std::vector<std::pair<std::filesystem::path, bool>> listed;  // files offered for opening; true: a log
    std::string typed_path, why, what_changed, changed_subject;
    std::vector<walk::CheckName> to_skip;
    struct Note {
        std::string about, text, file;
        bool incident = false;
        std::vector<std::string> subjects;  // offered
    } note;
    walk::GearTake gear_take;                 // asked on the slip that proves the gear
    ListState gear_circuits, gear_positions;
    report::RemarkLine photo;                 // that is looked at
    std::string audit_against, certificate_of, certificate_until;

    // Tally
    std::optional<verify::Verdict> only;
    std::size_t tally_sort = 0;
    std::shared_ptr<const TallyTable> tally_table;

    std::size_t explain_view = 0;  // why it came out so, or what such a check is

    // Sign
    std::set<std::string> accepted;  // "check:subject"
    std::string sign_scope;          // a box or array; empty: the whole plan
    // Curves
    std::size_t smoothing = 2, compare = 0, curve_view = 0;
    bool phase = false;                       // drawn too
    struct Siblings {
        RecordsPtr records;  // of which the places were worked out
        std::string box;
        std::vector<walk::SiblingPlace> places;
    } siblings;
    PlotView frequency_view, impulse_view;    // magnitude and phase move together
    // Room
    float room_zoom = 1.0F;
    Point room_shift;
    // Design desk
    std::shared_ptr<Draft> draft;
    std::string draft_of;        // hash of the revision that it began from
    report::RoomLayout draft_room;
    bool design_position = false, dragged = false;  // a position is under the pencil, not a box
    Point drag_from;
    struct TypedWord {
        std::string text, seen;  // in the field, and of the plan when it was filled
    };
    std::map<std::string, TypedWord> design_words;
    std::size_t estimate_question = 0;
    std::string estimate_area, estimate_partner;  // chosen; empty: as the estimate finds them
    std::size_t look_back_view = 0;  // history, notes or times
    // Asked once; asked again by hand.
    bool devices_asked = false;
    std::weak_ptr<const Records> past_asked, audit_asked;  // what the log was like when look back and sign sheet asked
    bool reveal = false;
};

}  // namespace proofwalk::app
