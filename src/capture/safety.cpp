#include "capture/safety.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "capture/exposure.hpp"
#include "units/convert.hpp"

namespace proofwalk::capture {
namespace {

constexpr double nearest_m = 0.3;

Fault refused(std::string reason, std::string remedy) {
    return {FaultKind::input, "", "sound", std::move(reason), std::move(remedy)};
}

bool blank(std::string_view text) { return text.find_first_not_of(" \t\r\n") == std::string_view::npos; }

}  // namespace

std::string_view sound_caution_text() {
    return "Caution: loud test signals will play; they can harm hearing and drivers. Clear the places near the boxes, protect ears, "
           "know the stop key, start low. Exposure adds up over the walk. Local rules and licensed practice decide.";
}

std::string_view unknown_level_caution() {
    return "No calibrated mic has heard this circuit yet, so the level where people stand is unknown: start low and listen.";
}

double predicted_dba(const HeardLevel& heard, double played_dbfs) {
    const double mic_m = std::max(heard.mic_distance_m, nearest_m);
    const double standing_m = std::max(heard.standing_distance_m, nearest_m);
    const double nearer_db = std::max(0.0, amplitude_db(mic_m / standing_m));
    return heard.mic_dba + (played_dbfs - heard.played_dbfs) + nearer_db;
}

Result<void> SoundSafety::arm(std::string_view name, bool read_the_caution, Moment when) {
    if (blank(name)) return std::unexpected(refused("sound plays only when a named person has armed it", "give your name"));
    if (!read_the_caution)
        return std::unexpected(refused("the caution has not been confirmed", "read the caution, then confirm it"));
    armed_by_ = name;
    armed_at_ = when;
    return {};
}

void SoundSafety::disarm() {
    armed_by_.clear();
    hall_clear_ = false;
}

void SoundSafety::confirm_hall_clear(Moment when) {
    hall_clear_ = true;
    clear_at_ = when;
}

Result<void> SoundSafety::allow(double level_dbfs, const std::optional<HeardLevel>& heard) const {
    if (!armed()) return std::unexpected(refused("nothing plays until a person has armed it", "read the caution, then arm with your name"));
    if (!std::isfinite(level_dbfs) || level_dbfs > ceilings_.level_dbfs)
        return std::unexpected(refused(fmt::format("{:.1f} dBFS is above the ceiling of {:.1f} dBFS", level_dbfs, ceilings_.level_dbfs),
                                       "turn the level down"));
    if (!heard) return {};
    const double there_dba = predicted_dba(*heard, level_dbfs);
    if (there_dba > ceilings_.standing_dba)
        return std::unexpected(refused(
            fmt::format("{:.1f} dBFS would give about {:.0f} dBA where a person may stand, {:.1f} m from a box, above the ceiling of {:.0f} dBA",
                        level_dbfs, there_dba, heard->standing_distance_m, ceilings_.standing_dba),
            fmt::format("play at most {:.1f} dBFS", level_dbfs - (there_dba - ceilings_.standing_dba))));
    if (there_dba > deliberate_level_dba && !hall_clear_)
        return std::unexpected(refused(fmt::format("about {:.0f} dBA are expected where a person may stand", there_dba),
                                       "make sure that the hall is clear and confirm it"));
    return {};
}

double SoundSafety::next_level_dbfs(double wanted_dbfs, std::optional<double> last_dbfs, Hearing hearing,
                                    const std::optional<HeardLevel>& heard) const {
    double level = std::min(wanted_dbfs, ceilings_.level_dbfs);
    if (!last_dbfs)
        level = std::min(level, ceilings_.first_dbfs);
    else
        level = std::min(level, *last_dbfs + (hearing == Hearing::overloaded ? 0.0 : ceilings_.step_db));
    if (last_dbfs && hearing == Hearing::nothing) level = std::min(level, std::max(*last_dbfs, ceilings_.unheard_dbfs));
    if (heard) level = std::min(level, level - (predicted_dba(*heard, level) - ceilings_.standing_dba));
    return level;
}

std::optional<PlayBand> allowed_band(PlayBand wanted, PlayBand model_range) {
    const PlayBand band{std::max(wanted.low_hz, model_range.low_hz), std::min(wanted.high_hz, model_range.high_hz)};
    if (!(band.low_hz > 0.0) || band.high_hz < 2.0 * band.low_hz) return std::nullopt;
    return band;
}

}  // namespace proofwalk::capture
