// Records arranged for people and programs: JSON and text on a stream, one HTML page with SVG. No formula, no verdict.
#pragma once

#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "plan/plan.hpp"
#include "plan/checks.hpp"
#include "plan/targets.hpp"
#include "signal/evidence.hpp"
#include "units/fault.hpp"
#include "verify/judge.hpp"
#include "verify/tally.hpp"

namespace proofwalk::report {

// proofwalk.tally/1 and proofwalk.readings/1, see the results contract.
[[nodiscard]] std::string tally_json(const verify::Tally& tally);

// One entry of readings: what was measured, before any judgement.
struct ReadingRow {
    verify::TakenReading taken;
    double distance_m = 0.0;  // planned, from box (or middle of its circuit's boxes) to position
    bool retired = false;
    std::vector<std::string> surfaces;  // where each reflection likely came from by the plan; empty names where it can't be told
};
[[nodiscard]] std::string readings_json(const std::vector<ReadingRow>& rows);

struct TextStyle {
    bool colour = false;  // ANSI colour on a terminal; never colour alone
    int columns = 100;
};
[[nodiscard]] std::string tally_text(const verify::Tally& tally, const TextStyle& style);
[[nodiscard]] std::string readings_text(const std::vector<ReadingRow>& rows, const TextStyle& style);
[[nodiscard]] std::string plan_text(const plan::Plan& plan, const std::vector<plan::Target>& targets,
                                    const std::vector<plan::PlannedCheck>& checks, const TextStyle& style);
[[nodiscard]] std::string plan_json(const plan::Plan& plan, const std::string& sha256,
                                    const std::vector<plan::Target>& targets,
                                    const std::vector<plan::PlannedCheck>& checks);

// A drawn curve with what it shows.
struct BoxCurves {
    std::string box, position, take;
    signal::Curve measured;
    signal::Curve planned;              // may be empty
    std::vector<double> impulse_s;      // time after the reference
    std::vector<double> impulse_db;     // level of the impulse response, re its peak
    double arrival_s = 0.0;
    double gate_end_s = 0.0;
    std::vector<signal::Reflection> reflections;
    std::vector<std::string> surfaces;  // of each reflection, as in ReadingRow
    double direct_from_hz = 0.0;        // below it the measured curve is the full sound; 0: not told
};

struct SignLine {
    std::string who, role, when, hash;
    std::vector<std::string> exceptions;
    bool stale = false;
    std::string stale_because;
    std::string covers = {};  // "the whole plan, revision 2, takes up to t34"
};

struct TakeLine {
    std::string label, when, kind, circuits, who;
};

// What somebody noted or attached: a remark, an incident, a photo or another document.
struct RemarkLine {
    std::string when, about, what, text, who;
    std::string file = {}, sha256 = {};  // of attachments: the name it was given, and what it is kept under
    std::string picture = {};            // a photo as a data: address; empty when it is none or too large to carry along
};

// Where the time of the walk went.
struct TimeLine {
    std::string circuit;
    int takes = 0, retakes = 0;
    double minutes = 0.0;
};
// Steps of one kind from a take to the next, means in seconds: as planned, as they went, and as the next plan reckons.
struct StepLine {
    std::string kind;
    int steps = 0;
    double planned_s = 0.0, took_s = 0.0, reckoned_s = 0.0;
};
struct WalkTime {
    double walk_min = 0.0, pauses_min = 0.0;
    std::vector<TimeLine> circuits;
    double planned_min = 0.0, planned_steps_took_min = 0.0;  // of the steps that have a planned time; 0: none has
    std::vector<StepLine> steps = {};
};

struct EventLine {  // skips, changes, takes: the history in order
    std::string when, what, who;
};

// Everything that the page shows, already worked out.
struct Show {
    plan::Plan plan;
    std::string plan_sha256;
    int plan_revision = 1;
    std::string log_name, tool, made;   // made: when this report was written
    verify::Tally tally;
    std::vector<ReadingRow> readings;
    std::vector<BoxCurves> curves;
    std::vector<verify::Skip> skips;
    std::vector<SignLine> sign_offs;
    std::vector<EventLine> history;
    std::vector<TakeLine> takes;
    std::vector<RemarkLine> remarks;    // oldest first
    std::optional<WalkTime> time;       // absent: rehearsed, or not two takes
    std::string air;                    // "measured: 22.5 C, 48 %, 101.3 kPa"
    std::vector<std::string> walked_by;
    bool rehearsed = false;             // simulated takes: said on every page
    std::vector<std::string> cautions;  // sound exposure, rigging, local rules
    std::string decision_statement;     // rule and shared risk
};

// Who reads it: the engineer everything; the crew lead one page with counts, exceptions and a block to sign; the review
// what was skipped, repeated and changed.
enum class Reader { engineer, lead, review };
[[nodiscard]] std::optional<Reader> reader_from_word(std::string_view word);  // "engineer", "lead", "review"

// Writes DIR/index.html, self-contained; an earlier one stays whole until the new one is.
[[nodiscard]] Result<std::filesystem::path> write_report(const Show& show, const std::filesystem::path& folder,
                                                         Reader reader = Reader::engineer);
[[nodiscard]] std::string report_html(const Show& show, Reader reader = Reader::engineer);

// Everything that the pages show, for programs: DIR/show.json ("proofwalk.show/1") and a CSV file a table (RFC 4180).
// Gives the files in the order written.
[[nodiscard]] Result<std::vector<std::filesystem::path>> write_data(const Show& show, const std::filesystem::path& folder);
[[nodiscard]] std::string show_json(const Show& show);

}  // namespace proofwalk::report
