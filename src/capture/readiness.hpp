// Is a take worth playing now? From what the meters heard while nothing plays: noise, headroom, hum, dead inputs, feedback building
// up; and from the wanted uncertainty how long to wait or how much louder to go.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "units/bands.hpp"

namespace proofwalk::capture {

struct ChannelState {
    double peak_dbfs = -200.0;   // dB re full scale
    double noise_dbfs = -200.0;  // rms over all, dB re a full-scale sine
    BandLevels bands_dbfs;       // third-octave, dB re a full-scale sine; empty when there is too little to judge
    bool dead = false;           // exact zeros throughout: no cable, wrong input
    bool clipped = false;
    std::optional<double> hum_hz;  // 50 or 60 when mains hum stands out of the noise
    double hum_dbfs = -200.0;
};
// `quiet`: at least half a second in which nothing was played.
[[nodiscard]] ChannelState channel_state(std::span<const float> quiet, double rate_hz);

// A tone that grows by itself. Watch one channel with successive pieces of a quarter second or so.
class FeedbackWatch {
public:
    // The frequency of feedback that is building up: one narrow tone that carries most of the power and has grown by 3 dB or more
    // from piece to piece three times in a row. Nothing otherwise.
    [[nodiscard]] std::optional<double> hear(std::span<const float> piece, double rate_hz);

private:
    double last_hz_ = 0.0, last_db_ = -200.0;
    int grown_ = 0;
};

// The take that is meant to be played, and what is expected of it at one mic.
struct WantedTake {
    double sweep_s = 4.0, start_hz = 60.0, stop_hz = 18000.0;
    double aim_low_hz = 2000.0, aim_high_hz = 8000.0;
    double gate_s = 0.005;         // length of direct sound that is read in the aim band
    double noise_u_db = 0.2;       // what noise may add to the uncertainty of a level, standard
    double signal_dbfs = -30.0;    // at the mic while the sweep plays in the aim band, dB re a full-scale sine: from an earlier take
    double longest_s = 30.0;       // of a sweep
    double louder_db = 0.0;        // how much louder the ceilings still allow
    std::optional<double> settling_db_per_s;  // how fast the noise falls by itself, see below; negative
};

// How fast the level of what is heard falls, dB/s (negative), where it is a steady fall of 3 dB/s or more (sound dying away, a fan
// running down); nothing otherwise. `quiet`: half a second or more.
[[nodiscard]] std::optional<double> settling_db_per_s(std::span<const float> quiet, double rate_hz);

// Standard uncertainty that noise gives the level of a gated direct sound, dB. Sweep energy in the aim band against noise inside the
// gate: S = signal power * time in band / (noise power * gate); u = (20/ln 10) sqrt(1 / (2 B gate S)) + (10/ln 10) / S, cautious: noise
// power is counted as if nothing of it were taken off.
[[nodiscard]] double expected_noise_u_db(const WantedTake& take, double aim_noise_dbfs);

struct Readiness {
    bool offered = false;
    double noise_u_db = 0.0;            // expected with the noise as it is
    std::optional<double> sweep_s;      // a sweep this long would do
    std::optional<double> louder_db;    // this much louder would do
    std::optional<double> quieter_db;   // the room has to become this much quieter
    std::optional<double> wait_s;       // until it has, if the noise goes on falling as it does
    std::vector<std::string> says;      // one sentence each, what to do first
};
// `states` of the mics that the take uses, `names` of them for the sentences.
[[nodiscard]] Readiness readiness(const WantedTake& take, std::span<const ChannelState> states, std::span<const std::string> names);

}  // namespace proofwalk::capture
