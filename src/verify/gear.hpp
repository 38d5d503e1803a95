// The measuring chain, proven before anything is blamed on the rig. Pure: figures in, verdicts out.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "signal/loopback.hpp"
#include "signal/mic_match.hpp"
#include "verify/judge.hpp"

namespace proofwalk::verify {

// Limits: flatness and phase as the walk needs them; the others are common practice, no source, but for the calibrator's
// (a project choice, see docs/formulas.md).
struct GearLimits {
    double flat_db = 0.1;
    double flat_deg = 1.0;
    double match_db = 1.0;          // a mic that differs more from its fellows than this is not corrected, but set aside
    double calibrator_drift_db = 0.5;
    double loopback_above_noise_db = 60.0;
};

struct GearInput {
    double rate_hz = 48000.0;
    std::vector<signal::ChainFigures> loopbacks;  // oldest first, of one input
    struct Match {
        std::string mic;
        signal::MicDeviation deviation;
        std::optional<int> polarity;
    };
    std::vector<Match> match;                     // of the newest match take
    struct Sensitivity {
        std::string mic;
        double pascal_per_fs = 0.0;
        double level_db = 0.0;
    };
    std::vector<Sensitivity> calibrations;        // oldest first, all mics
    struct Certificate {
        std::string subject;                      // mic or calibrator, with its serial number
        std::string until;                        // "2027-03-01"
    };
    std::vector<Certificate> certificates;
    std::string today;                            // "2026-05-02"
};

struct GearCheck {
    std::string check;    // "loopback", "latency", "mic-match", "mic-polarity", "sensitivity", "certificate"
    std::string subject;
    Verdict verdict = Verdict::open;
    std::optional<double> value;
    std::string unit;
    std::optional<double> limit;
    std::string says, advice;
};

// In the order of the list above. What was not taken is open.
[[nodiscard]] std::vector<GearCheck> judge_gear(const GearInput& input, const GearLimits& limits = {});

// The reason why passes are withheld: the first failed check in words; nothing while none failed.
[[nodiscard]] std::optional<std::string> gear_fault(const std::vector<GearCheck>& checks);

}  // namespace proofwalk::verify
