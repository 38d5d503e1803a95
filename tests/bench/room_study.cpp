// room_study [ROOMS [WHICH [verbose]]]: arrival, level and polarity over invented rooms, as a table.
#include <cstdio>
#include <cstdlib>
#include <cmath>
#include <string>

#include "signal/study.hpp"

using namespace proofwalk::test;

int main(int argc, char** argv) {
    const int rooms = argc > 1 ? std::atoi(argv[1]) : 2000;
    const std::string which = argc > 2 ? argv[2] : "all";
    const bool verbose = argc > 3;
    struct Line {
        const char* name;
        StudySettings settings;
    };
    std::vector<Line> lines;
    for (const double snr_db : {35.0, 20.0, 10.0}) {
        StudySettings sweep;
        sweep.aim_snr_db = snr_db;
        lines.push_back({snr_db == 35.0 ? "sweep35" : snr_db == 20.0 ? "sweep20" : "sweep10", sweep});
    }
    StudySettings noise;
    noise.noise_take = true;
    noise.aim_snr_db = 20.0;
    lines.push_back({"noise20", noise});
    noise.knocks = 4;
    lines.push_back({"noise20-knocks", noise});
    StudySettings knocks;
    knocks.knocks = 2;
    lines.push_back({"sweep20-knocks", knocks});
    StudySettings dead;
    dead.room.dead_high = true;
    lines.push_back({"dead-high", dead});
    dead.room.dead_high = false;
    dead.room.dead_low = true;
    lines.push_back({"dead-low", dead});
    StudySettings sub;
    sub.room.sub = true;
    sub.room.crossover = false;
    sub.room.range_low_hz = 30.0;
    sub.room.range_high_hz = 100.0;
    sub.room.aim_low_hz = 40.0;
    sub.room.aim_high_hz = 80.0;
    lines.push_back({"sub", sub});
    StudySettings free;
    free.room.free_field = true;
    free.aim_snr_db = 10.0;
    lines.push_back({"free10", free});

    std::printf("%-15s %6s | arrival us: p50   p95  bias     u  held%% wrong(silent) | level dB: p50   p95   bias     u  held%% | polarity told%% wrong%%\n", "rooms", "n");
    for (Line& line : lines) {
        if (which != "all" && which != line.name) continue;
        line.settings.rooms = rooms;
        const auto cases = study_cases(line.settings);
        const StudyFigures f = figures_of(cases);
        std::printf("%-15s %6d | %14.1f %6.1f %5.1f %5.1f %6.1f %5d (%d)      | %12.2f %5.2f %6.2f %5.2f %6.1f | %10.1f %8.2f\n", line.name, f.cases, f.arrival_p50_us,
                    f.arrival_p95_us, f.arrival_bias_us, f.mean_arrival_u_us, f.arrival_held_pct, f.wrong_peaks, f.silent_wrong_peaks, f.level_p50_db,
                    f.level_p95_db, f.level_bias_db, f.mean_level_u_db, f.level_held_pct, f.polarity_told_pct, f.polarity_wrong_pct);
        std::fflush(stdout);
        if (!verbose) continue;
        for (const StudyCase& one : cases) {
            const auto& r = one.reading;
            std::printf("  bounce %.2f ms %.1f dB strongest %.2f ms %.1f dB | err %.1f us u %.1f | level err %.2f u %.2f gate %.2f | pol %d of %d | flags %x\n", one.room.bounce_after_s * 1e3,
                        one.room.bounce_db, one.room.strongest_after_s * 1e3, one.room.strongest_db,
                        r.arrival_s ? 1e6 * (r.arrival_s->value - one.room.arrival_s) : NAN, r.arrival_s ? 1e6 * r.arrival_s->u : NAN,
                        r.aim_band_db ? r.aim_band_db->value - one.room.direct_aim_db : NAN, r.aim_band_db ? r.aim_band_db->u : NAN, r.gate_s * 1e3,
                        r.polarity.value_or(0), one.room.polarity, r.flags.bits());
        }
    }
    return 0;
}
