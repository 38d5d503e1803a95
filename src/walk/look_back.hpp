// Logs of earlier shows side by side, as a screen shows them: what passed, what was skipped and signed, how often things
// were taken again, and how a figure drifts from show to show. The review itself stands in log/review.hpp.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "log/log.hpp"
#include "units/measured.hpp"
#include "verify/tally.hpp"

namespace proofwalk::walk {

struct PastShow {
    std::filesystem::path log_file;
    std::string plan_name, plan_sha256;
    std::optional<Moment> when;  // of the first take
    verify::Counts counts;
    std::vector<log::SkipRecord> skips;  // those that stand
    std::vector<log::SignOff> sign_offs;
    std::size_t takes = 0;
    std::size_t repeats = 0;  // takes of a circuit with mics where they had stood for it before
    bool rehearsed = false;
};

// A figure of one box or pair, show by show, oldest first.
struct DriftPoint {
    std::size_t show = 0;  // index into LookBack::shows
    Measured figure;       // expanded as in its check
    verify::Verdict verdict = verify::Verdict::open;
};
struct Drift {
    plan::CheckKind kind = plan::CheckKind::level;
    std::string subject, unit;
    std::vector<DriftPoint> points;
    bool drifts = false;  // more than its uncertainty explains
};

struct LookBack {
    std::vector<PastShow> shows;  // oldest first
    std::vector<Drift> drifts;    // of figures in two shows or more; those that drift first
    Faults faults;                // logs that could not be read
};
[[nodiscard]] LookBack look_back(const std::vector<std::filesystem::path>& logs);

}  // namespace proofwalk::walk
