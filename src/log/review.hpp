// What many logs say together: what was left out, what drifts, what comes back, where the time went. From one show to a
// tour of hundreds; a log that can't be read is named and the others still count.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "log/log.hpp"
#include "units/fault.hpp"
#include "units/utc.hpp"
#include "verify/judge.hpp"
#include "verify/tally.hpp"

namespace proofwalk::log {

// Time between a take and the one before it, given to the circuit of the later one. Longer than `pause_s` is a pause.
inline constexpr double pause_s = 900.0;

struct CircuitTime {
    std::string circuit;
    double seconds = 0.0;
    int takes = 0;
    int retakes = 0;  // takes of the circuit with the same mics at the same positions as an earlier one
};

// From the first take to the last, in the order of their times.
struct WalkTimes {
    std::optional<Moment> first_take, last_take;
    double walk_s = 0.0, pauses_s = 0.0;
    std::vector<CircuitTime> circuits;  // the longest first
};
[[nodiscard]] WalkTimes walk_times(std::vector<TakeTime> takes);

struct ReviewedShow {
    std::filesystem::path file;
    std::string plan_name, plan_sha256;
    int plan_revisions = 0;
    std::optional<Moment> first_take, last_take;
    std::vector<std::string> people;       // who took, skipped, changed or signed
    int takes = 0, changes = 0, incidents = 0, sign_offs = 0;
    verify::Counts counts;                 // of the newest judgement, standing skips laid over it
    bool rehearsed = false;                // takes of the simulated room are among them
    std::vector<SignOff> signatures;
    double walk_s = 0.0, pauses_s = 0.0;   // from the first take to the last
    std::vector<CircuitTime> circuits;     // the longest first
};

enum class LeftOutHow { skipped, signed_as_exception, never_measured };

struct LeftOut {
    std::size_t show = 0;  // place in Review::shows
    LeftOutHow how = LeftOutHow::skipped;
    std::string check, subject;
    std::string who, why;  // of the skip or the sign-off
    Moment when;
};

// One figure of one box over the shows, oldest first.
struct DriftPoint {
    std::size_t show = 0;
    double value = 0.0;        // measured minus planned, in `unit`; polarity +1 or -1
    double uncertainty = 0.0;  // expanded, as judged
    verify::Verdict verdict = verify::Verdict::open;
};
struct Drift {
    std::string subject, check, unit;
    std::vector<DriftPoint> points;
    double change = 0.0;        // last minus first
    double change_u = 0.0;      // expanded uncertainty of the change
    double slope = 0.0;         // per show, weighted least squares; 0 with less than three shows
    double slope_u = 0.0;       // its expanded uncertainty
    bool drifts = false;        // change or slope is larger than its uncertainty, or polarity flipped
};

struct RepeatedFault {
    std::string check, subject;
    std::vector<std::size_t> shows;  // where it failed at least once, also when it was put right later
    int standing = 0;                // shows whose newest judgement still says fail
};

struct Review {
    std::vector<ReviewedShow> shows;      // by time of the first take
    std::vector<LeftOut> left_out;        // by show
    std::vector<Drift> drifts;            // every figure of a check but `sounding`, of what was measured in two shows or more
    std::vector<RepeatedFault> repeated;  // failed in two shows or more, the most frequent first
    Faults unreadable;
};

[[nodiscard]] Review review(const std::vector<std::filesystem::path>& logs);

}  // namespace proofwalk::log
