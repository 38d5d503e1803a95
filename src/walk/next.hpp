// What to do next in a show: the agenda that follows from its log, the speeds learnt from it, and the proof before doors.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "walk/corrections.hpp"
#include "walk/route/agenda.hpp"
#include "walk/route/doors.hpp"
#include "walk/session.hpp"
#include "walk/show.hpp"

namespace proofwalk::walk {

struct NextOptions {
    route::Crew crew;
    route::Odds odds;
    std::optional<double> minutes;
    std::vector<std::string> closed;     // positions
    std::vector<std::string> not_ready;  // circuits
    std::size_t mics_lost = 0;           // of crew.mics: died, or needed elsewhere
};

struct Next {
    std::vector<Correction> corrections;      // to be made and recorded first: the agenda holds their retakes already
    route::Agenda agenda;
    route::Crew crew;                         // as learnt
    std::size_t learnt_from = 0;              // steps of this log whose times were used
    std::vector<std::string> cannot_settle;   // open checks that the plan's takes can't settle, with the reason
    std::vector<std::string> unsettled;       // when nothing is left to take: unsure checks, with what would settle them
    std::vector<std::string> changed;         // what closed positions, circuits that are not ready and missing mics change, in plain words
};
// Faults: the log; a position or circuit that the plan does not have.
[[nodiscard]] Result<Next> next(const Show& show, const NextOptions& options);

// Where mics and circuits go, as the app and live takes follow it.
[[nodiscard]] std::vector<Round> rounds_of(const route::Agenda& agenda);
// The whole walk of a plan before any take: the shortest one found.
[[nodiscard]] std::vector<Round> shortest_rounds(const plan::Plan& plan, int mics);

struct BeforeDoors {
    route::DoorsSignal signal;
    std::vector<std::string> mics_at;          // where mics stand since the last take
    std::optional<route::Compared> since_sign_off;  // absent: nothing was signed, or nothing was taken since
    bool signed_off = false;
};
[[nodiscard]] Result<BeforeDoors> before_doors(const Show& show);

}  // namespace proofwalk::walk
