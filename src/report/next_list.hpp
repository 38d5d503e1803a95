// The walk that is left, as a list for people and as "proofwalk.next/1" for programs.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "report/report.hpp"

namespace proofwalk::report {

struct NextLeg {
    std::vector<std::string> positions, circuits;
    std::vector<std::pair<std::string, std::string>> carries;  // from ("start" or a position), to
    double walk_s = 0.0, place_s = 0.0, take_s = 0.0;
    std::vector<std::pair<std::string, std::string>> settles;  // check, subject
    std::vector<std::vector<std::string>> together;            // circuits that sound in one take, one sweep into the next
};

// What failed and is to be put right, and recorded, before its retake.
struct NextCorrection {
    struct Failed {
        std::string check, subject, says, advice;
    };
    std::string subject;                // as `change` takes it
    std::vector<std::string> circuits;  // that are taken again
    std::vector<Failed> failed;
};

struct NextUnproven {
    std::string check, subject, why;
    double likelihood = 0.0, people = 0.0;  // 0..1
};

struct NextList {
    std::string plan_name, plan_sha256, log;
    std::vector<NextCorrection> corrections;
    std::vector<NextLeg> legs;        // with the retakes of the corrections
    double seconds = 0.0;
    double minutes = 0.0;             // that there were; 0: no limit
    bool shortest = false;            // proven
    std::vector<NextUnproven> unproven;
    double risk_removed = 1.0;        // share of the risk that this walk takes away, 0..1
    std::string risk;                 // what is left, in plain words
    std::vector<std::string> notes;
};

[[nodiscard]] std::string next_json(const NextList& list);
[[nodiscard]] std::string next_text(const NextList& list, const TextStyle& style);

}  // namespace proofwalk::report
