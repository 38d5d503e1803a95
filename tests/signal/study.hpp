// Many invented rooms measured and compared with what was planted.
#pragma once

#include <cstdint>
#include <vector>

#include "signal/evidence.hpp"
#include "signal/room.hpp"

namespace proofwalk::test {

struct StudySettings {
    RoomSettings room;
    int rooms = 200;
    std::uint64_t first_seed = 1;
    double aim_snr_db = 20.0;
    bool noise_take = false;
    int knocks = 0;
};

struct StudyCase {
    Room room;  // without its transfer functions
    signal::Reading reading;
};

struct StudyFigures {
    int cases = 0, arrivals = 0, levels = 0;
    double arrival_p50_us = 0.0, arrival_p95_us = 0.0, arrival_bias_us = 0.0, arrival_held_pct = 0.0, mean_arrival_u_us = 0.0;
    double level_p50_db = 0.0, level_p95_db = 0.0, level_bias_db = 0.0, level_held_pct = 0.0, mean_level_u_db = 0.0;
    double polarity_told_pct = 0.0, polarity_wrong_pct = 0.0;
    int wrong_peaks = 0, silent_wrong_peaks = 0;  // off by more than 1 ms and three times the stated u; of these without the weak-arrival flag
};

[[nodiscard]] std::vector<StudyCase> study_cases(const StudySettings& settings);
[[nodiscard]] StudyFigures figures_of(const std::vector<StudyCase>& cases);

}  // namespace proofwalk::test
