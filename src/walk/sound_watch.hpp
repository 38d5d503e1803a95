// Sound safety over a walk: a person arms it, each circuit starts low and climbs under the watch of the mics, ceilings hold, and
// what people near the boxes have been exposed to adds up. The figures are cautions: local rules decide.
#pragma once

#include <atomic>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "capture/device.hpp"
#include "capture/exposure.hpp"
#include "capture/readiness.hpp"
#include "capture/safety.hpp"
#include "walk/excite.hpp"
#include "walk/show.hpp"

namespace proofwalk::walk {

struct LiveTake;

struct SoundRules {
    capture::Ceilings ceilings;
    double standing_m = 3.0;   // from any box to the nearest place where a person may stand
    double patience_s = 0.0;   // how long to wait for a quiet room before a take is made all the same
    double noise_u_db = 0.2;   // what noise may add to the uncertainty of a level
};

// What was found out before a take.
struct Cleared {
    double level_dbfs = 0.0;           // to be played: as wanted, or lower where a ceiling or the mics say so
    capture::Readiness readiness;      // of the mics at that level
    int trials = 0;                    // short plays that it took to get there
};

class SoundWatch {
public:
    explicit SoundWatch(SoundRules rules = {}) : rules_(rules), safety_(rules.ceilings) {}

    using Say = std::function<void(const std::string&)>;  // one sentence for the person
    // Asked when a level is loud where people may stand; true: the hall is clear. Absent: nobody is there to ask.
    using Ask = std::function<bool(const std::string&)>;

    [[nodiscard]] Result<void> arm(std::string_view name, bool read_the_caution, Moment when) { return safety_.arm(name, read_the_caution, when); }
    void disarm();  // levels start low again, the hall is to be confirmed again
    void confirm_hall_clear(Moment when) { safety_.confirm_hall_clear(when); }
    [[nodiscard]] bool armed() const { return safety_.armed(); }
    [[nodiscard]] const SoundRules& rules() const { return rules_; }

    // Listens, plays short trials from low to the wanted level and says what stands in the way. Nothing of it is stored. Faults: not
    // armed, a ceiling, a hall that is not confirmed clear, the device.
    [[nodiscard]] Result<Cleared> clear(const Show& show, capture::Device& device, const LiveTake& take, const Say& say, const Ask& ask,
                                        const std::atomic<bool>& stop);
    // Several circuits that were cleared and now sound together: the level at which their sum stays within the ceilings.
    [[nodiscard]] Result<double> together(const std::vector<LiveTake>& takes, double level_dbfs, const Ask& ask);
    // After a take: what the mics heard counts for the next level and the exposure.
    void heard(const Show& show, const LiveTake& take, const capture::Recording& recording, double level_dbfs, double start_s, double length_s);

    // After a take in which the circuits of together() sounded for `seconds`.
    void heard_together(double seconds, double level_dbfs);

    [[nodiscard]] const capture::Exposure& exposure() const { return exposure_; }
    [[nodiscard]] double sounded_s() const { return sounded_s_; }  // of signal, known level or not
    // "Exposure 3.0 m from a box: ...", with the caution; empty before anything sounded.
    [[nodiscard]] std::string exposure_line() const;

private:
    struct Known {
        std::optional<double> last_dbfs;
        std::optional<capture::HeardLevel> heard;
        capture::Hearing hearing = capture::Hearing::nothing;
        double signal_dbfs = -200.0;  // of the quietest mic in the aim band while last_dbfs played
    };
    struct Trial;

    [[nodiscard]] Known& known(const LiveTake& take);
    [[nodiscard]] Result<void> remember(const Show& show);
    // Without a level nothing plays.
    [[nodiscard]] Result<Trial> listen(const Show& show, capture::Device& device, const LiveTake& take, std::optional<double> level_dbfs,
                                       double quiet_s, const std::atomic<bool>& stop);
    void hear(const Show& show, const LiveTake& take, Trial& trial) const;
    [[nodiscard]] Result<void> allowed(double level_dbfs, const std::optional<capture::HeardLevel>& heard, const Ask& ask);
    [[nodiscard]] capture::Readiness ready(const Show& show, const LiveTake& take, const Trial& trial, const Known& circuit, double level_dbfs) const;
    void note(const Show& show, const LiveTake& take, const capture::Recording& recording, double level_dbfs, double start_s, double length_s);

    SoundRules rules_;
    capture::SoundSafety safety_;
    capture::Exposure exposure_;
    std::map<std::string, Known> circuits_;
    std::map<std::string, double> pascals_;  // calibrated mics of the log
    double sounded_s_ = 0.0;
    std::optional<capture::HeardLevel> together_;
    bool unknown_level_said_ = false, remembered_ = false;
};

}  // namespace proofwalk::walk
