// Sound safety: nothing plays until a named person has armed it for this walk; levels climb from low; hard ceilings. The figures
// are cautions, not a statement that something is safe: local rules and licensed practice decide.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "units/fault.hpp"
#include "units/utc.hpp"

namespace proofwalk::capture {

[[nodiscard]] std::string_view sound_caution_text();

struct Ceilings {
    double level_dbfs = -3.0;      // of the played signal, never exceeded
    double standing_dba = 100.0;   // predicted where a person may stand, never exceeded (common practice, no source)
    double step_db = 6.0;          // largest climb from one play to the next
    double first_dbfs = -40.0;     // where a circuit starts
    double unheard_dbfs = -20.0;   // no climb above this until a mic has heard the circuit: it may sound where nobody listens
};

// What the mics made of a play.
enum class Hearing { well, nothing, overloaded };

// What is known about how loud a circuit is where a person may stand: from a calibrated mic that heard it.
struct HeardLevel {
    double mic_dba = 0.0;          // at the mic, while it played
    double played_dbfs = 0.0;      // at this level
    double mic_distance_m = 1.0;   // from the nearest box of the circuit
    double standing_distance_m = 3.0;  // of the nearest place where a person may stand: given, or 3 m from any box
};

// Level at the standing place for another played level: free field, 6 dB a halving of the distance. Distances below 0.3 m count as
// 0.3 m. Nearer than the mic only adds; farther takes nothing off, because a room keeps its level.
[[nodiscard]] double predicted_dba(const HeardLevel& heard, double played_dbfs);

class SoundSafety {
public:
    explicit SoundSafety(Ceilings ceilings = {}) : ceilings_(ceilings) {}

    // A person who has read the caution. Refused: an empty name, a caution not confirmed.
    [[nodiscard]] Result<void> arm(std::string_view name, bool read_the_caution, Moment when);
    void disarm();                        // also after the walk, a change of the rig, or a stop by hand
    void confirm_hall_clear(Moment when); // before anything above the deliberate level; ends with disarm()
    [[nodiscard]] bool armed() const { return !armed_by_.empty(); }
    [[nodiscard]] const std::string& armed_by() const { return armed_by_; }

    // May `level_dbfs` be played now? A refusal says what is missing. Without a heard level only the dBFS ceiling holds, and that is
    // said by unknown_level_caution().
    [[nodiscard]] Result<void> allow(double level_dbfs, const std::optional<HeardLevel>& heard) const;

    // The level of the next play of a circuit: the first one low, then up by at most a step towards `wanted_dbfs`, within the
    // ceilings. `last_dbfs` absent: not played yet in this arming. A mic that was overloaded: no climb; nothing heard: none
    // above unheard_dbfs.
    [[nodiscard]] double next_level_dbfs(double wanted_dbfs, std::optional<double> last_dbfs, Hearing hearing,
                                         const std::optional<HeardLevel>& heard) const;
    [[nodiscard]] const Ceilings& ceilings() const { return ceilings_; }

private:
    Ceilings ceilings_;
    std::string armed_by_;
    Moment armed_at_, clear_at_;
    bool hall_clear_ = false;
};

[[nodiscard]] std::string_view unknown_level_caution();

// The band that may be played into a circuit: the wanted one cut to what all of its models take.
struct PlayBand {
    double low_hz = 0.0, high_hz = 0.0;
};
[[nodiscard]] std::optional<PlayBand> allowed_band(PlayBand wanted, PlayBand model_range);  // nothing when they share less than an octave

}  // namespace proofwalk::capture
