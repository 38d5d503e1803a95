#include "walk/sound_watch.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "capture/damage.hpp"
#include "capture/likeness.hpp"
#include "signal/weighting.hpp"
#include "units/convert.hpp"
#include "walk/bands.hpp"
#include "walk/live_take.hpp"
#include "walk/store_take.hpp"

namespace proofwalk::walk {
namespace {

constexpr double trial_s = 0.3, after_trial_s = 0.4, before_trial_s = 0.1;
constexpr double listening_s = 0.6;    // quiet, before the first trial of a take
constexpr double feedback_piece_s = 0.1;
constexpr int longest_climb = 24;      // trials; a climb from the lowest level to full scale needs fewer
constexpr double same_db = 0.05;
constexpr double gate_s = 0.005;

bool plays(signal::TakeKind kind) { return kind != signal::TakeKind::silence && kind != signal::TakeKind::calibrator; }
bool through_air(signal::TakeKind kind) {
    return kind == signal::TakeKind::sweep || kind == signal::TakeKind::noise || kind == signal::TakeKind::match;
}

std::span<const float> channel_of(const capture::Recording& recording, int channel) {
    return recording.channels[static_cast<std::size_t>(channel - 1)];
}

std::span<const float> between(std::span<const float> samples, double rate_hz, double from_s, double to_s) {
    const auto first = std::min(samples.size(), static_cast<std::size_t>(std::max(0.0, from_s) * rate_hz));
    const auto end = std::min(samples.size(), static_cast<std::size_t>(std::max(0.0, to_s) * rate_hz));
    return samples.subspan(first, end > first ? end - first : 0);
}

// From the mic to the nearest box of the circuit, by the plan; a mic at no position counts as standing at the standing place.
double mic_distance_m(const plan::Plan& plan, const std::string& circuit, const std::string& position, double standing_m) {
    const plan::Position* place = plan.position(position);
    double nearest_m = standing_m;
    bool first = true;
    for (const plan::Box* box : plan.boxes_of(circuit)) {
        if (place == nullptr) break;
        const double away_m = distance(box->at, place->at);
        nearest_m = first ? away_m : std::min(nearest_m, away_m);
        first = false;
    }
    return nearest_m;
}

// A-weighted level while the signal of length_s sounds: the energy of all that came after its start.
std::optional<double> level_dba(std::span<const float> samples, double rate_hz, double pascal_per_fs, double length_s) {
    const BandLevels levels = signal::band_levels_dbfs(samples, rate_hz);
    const double dbfs = signal::weighted_sum_db(levels, signal::Weighting::a);
    if (!std::isfinite(dbfs)) return std::nullopt;
    const double full_scale_db = amplitude_db(pascal_per_fs / std::sqrt(2.0) / reference_pressure_pa);
    return dbfs + full_scale_db + power_db(static_cast<double>(samples.size()) / rate_hz / length_s);
}

std::string key_of(const LiveTake& take) { return take.circuit.empty() ? fmt::format("output {}", take.output) : take.circuit; }

}  // namespace

struct SoundWatch::Trial {
    capture::Recording recording;
    double start_s = 0.0, quiet_s = 0.0;
    capture::Hearing hearing = capture::Hearing::nothing;
    double signal_dbfs = -200.0;
    std::vector<bool> heard;  // per mic
    capture::ReferenceCheck reference;
};

void SoundWatch::disarm() {
    safety_.disarm();
    circuits_.clear();
}

SoundWatch::Known& SoundWatch::known(const LiveTake& take) { return circuits_[key_of(take)]; }

// What the takes of this day in the log have given already, and which mics are calibrated.
Result<void> SoundWatch::remember(const Show& show) {
    const auto calibrators = show.log.takes_to_measure_by();
    if (!calibrators) return std::unexpected(calibrators.error());
    pascals_.clear();
    for (const auto& take : *calibrators)
        for (const auto& calibration : take.calibrations) pascals_[calibration.mic] = calibration.pascal_per_fs;
    if (remembered_) return {};
    const auto takes = show.log.takes(false);
    if (!takes) return std::unexpected(takes.error());
    remembered_ = true;
    constexpr std::size_t date_length = 10;  // "2027-03-01"
    const std::string today = to_text(now()).substr(0, date_length);
    for (const auto& take : *takes) {
        if (take.origin.device == "recorded" || take.origin.device.starts_with("rehearsal")) continue;
        if (to_text(take.origin.when).substr(0, date_length) != today) continue;
        std::optional<double> loudest_dba;
        for (const auto& heard : take.evidence) {
            const auto dba = signal::sound_pressure_level_db(heard.reading, signal::Weighting::a);
            if (!dba) continue;
            const double distance_m = mic_distance_m(show.plan.plan, heard.circuit, heard.position, rules_.standing_m);
            loudest_dba = std::max(loudest_dba.value_or(*dba), capture::predicted_dba({*dba, 0.0, distance_m, rules_.standing_m}, 0.0));
        }
        if (loudest_dba) exposure_.add(*loudest_dba, take.seconds);
        if (!take.evidence.empty()) sounded_s_ += take.seconds;
    }
    return {};
}

Result<SoundWatch::Trial> SoundWatch::listen(const Show& show, capture::Device& device, const LiveTake& take, std::optional<double> level_dbfs,
                                             double quiet_s, const std::atomic<bool>& stop) {
    Drive drive = take.drive;
    drive.kind = level_dbfs ? signal::TakeKind::sweep : signal::TakeKind::silence;
    drive.length_s = level_dbfs ? trial_s : before_trial_s;
    drive.level_dbfs = level_dbfs.value_or(0.0);
    drive.before_s = quiet_s;
    drive.after_s = level_dbfs ? after_trial_s : 0.0;
    auto play = prepared(show.plan.plan, take, drive);
    if (!play) return std::unexpected(play.error());
    play->request.sheet.label = "trial";
    play->request.sheet.trial = true;
    Trial trial;
    trial.start_s = play->start_s;
    trial.quiet_s = quiet_s;
    // A trial that lost samples tells nothing.
    for (int turn = 0; turn < 2; ++turn) {
        auto recording = device.run(play->request, {}, stop);
        if (!recording) return std::unexpected(recording.error());
        if (recording->ended_early) return std::unexpected(*recording->ended_early);
        trial.recording = std::move(*recording);
        if (!trial.recording.lost_samples) break;
    }
    trial.heard.assign(take.mics.size(), false);
    if (!level_dbfs || trial.recording.lost_samples) return trial;
    trial.reference = capture::check_reference(trial.recording);
    hear(show, take, trial);
    return trial;
}

void SoundWatch::hear(const Show& show, const LiveTake& take, Trial& trial) const {
    const capture::Recording& recording = trial.recording;
    if (take.mics.empty()) {
        trial.hearing = trial.reference.state == capture::ReferenceState::right ? capture::Hearing::well : capture::Hearing::nothing;
        return;
    }
    const signal::Bands bands = bands_of(show.plan.plan, take.circuit, "", show.plan.plan.air);
    signal::Samples samples;
    samples.rate_hz = recording.rate_hz;
    samples.played = recording.played;
    samples.reference = channel_of(recording, take.reference);
    for (const auto& mic : take.mics) samples.mics.push_back({channel_of(recording, mic.channel), {}, {}, 0.0});
    const auto evidence = signal::measure(samples, bands);
    if (!evidence) return;
    float peak = 0.0F;
    for (const float sample : samples.reference) peak = std::max(peak, std::abs(sample));
    const double reference_dbfs = peak > 0.0F ? amplitude_db(static_cast<double>(peak)) : -200.0;
    std::optional<double> quietest;
    bool overloaded = false;
    for (std::size_t m = 0; m < take.mics.size(); ++m) {
        overloaded = overloaded || capture::first_clipping(samples.mics[m].samples).has_value();
        const signal::Reading reading = signal::read((*evidence)[0][m], bands);
        trial.heard[m] = !reading.flags.has(Flag::no_signal) && reading.aim_band_db.has_value();
        if (!trial.heard[m]) continue;
        const double dbfs = reading.aim_band_db->value + reference_dbfs;
        quietest = std::min(quietest.value_or(dbfs), dbfs);
    }
    trial.hearing = overloaded ? capture::Hearing::overloaded : quietest ? capture::Hearing::well : capture::Hearing::nothing;
    if (quietest) trial.signal_dbfs = *quietest;
}

Result<void> SoundWatch::allowed(double level_dbfs, const std::optional<capture::HeardLevel>& heard, const Ask& ask) {
    auto allowed = safety_.allow(level_dbfs, heard);
    if (allowed || !heard || !ask || !safety_.armed()) return allowed;
    const double there_dba = capture::predicted_dba(*heard, level_dbfs);
    if (there_dba <= capture::deliberate_level_dba || there_dba > rules_.ceilings.standing_dba) return allowed;
    if (!ask(fmt::format("About {:.0f} dBA are expected {:.1f} m from a box. Is the hall clear?", there_dba, rules_.standing_m))) return allowed;
    safety_.confirm_hall_clear(now());
    return safety_.allow(level_dbfs, heard);
}

Result<double> SoundWatch::together(const std::vector<LiveTake>& takes, double level_dbfs, const Ask& ask) {
    // One place near all boxes: cautious, since no person stands next to every one of them.
    double power = 0.0;
    for (const LiveTake& take : takes)
        if (const Known& circuit = known(take); circuit.heard) power += power_of_db(capture::predicted_dba(*circuit.heard, level_dbfs));
    std::optional<capture::HeardLevel> sum;
    if (power > 0.0) {
        sum = capture::HeardLevel{power_db(power), level_dbfs, rules_.standing_m, rules_.standing_m};
        level_dbfs -= std::max(0.0, power_db(power) - rules_.ceilings.standing_dba);
    }
    if (auto allow = allowed(level_dbfs, sum, ask); !allow) return std::unexpected(allow.error());
    together_ = sum;
    return level_dbfs;
}

void SoundWatch::heard_together(double seconds, double level_dbfs) {
    sounded_s_ += seconds;
    if (together_) exposure_.add(capture::predicted_dba(*together_, level_dbfs), seconds);
}

capture::Readiness SoundWatch::ready(const Show& show, const LiveTake& take, const Trial& trial, const Known& circuit, double level_dbfs) const {
    const double rate_hz = trial.recording.rate_hz;
    std::vector<capture::ChannelState> states;
    std::vector<std::string> names, says;
    capture::WantedTake wanted;
    const bool others_hear = std::ranges::any_of(trial.heard, [](bool heard) { return heard; });
    for (std::size_t m = 0; m < take.mics.size(); ++m) {
        const auto samples = channel_of(trial.recording, take.mics[m].channel);
        const auto quiet = between(samples, rate_hz, 0.0, trial.quiet_s);
        capture::ChannelState state = capture::channel_state(quiet, rate_hz);
        state.dead = capture::all_zeros(samples);  // a simulated room may be that quiet, but not while something plays
        if (trial.start_s > 0.0 && !state.dead && !trial.heard[m] && others_hear)
            says.push_back(fmt::format("mic {} hears nothing of {} while others do; check its place and cable", take.mics[m].mic, key_of(take)));
        capture::FeedbackWatch feedback;
        for (double at_s = 0.0; at_s + feedback_piece_s <= trial.quiet_s; at_s += feedback_piece_s)
            if (const auto hz = feedback.hear(between(quiet, rate_hz, at_s, at_s + feedback_piece_s), rate_hz))
                says.push_back(fmt::format("mic {}: feedback is building up at {:.0f} Hz; mute what reinforces the mics", take.mics[m].mic, *hz));
        if (const auto slope = capture::settling_db_per_s(quiet, rate_hz)) wanted.settling_db_per_s = std::max(*slope, wanted.settling_db_per_s.value_or(*slope));
        names.push_back("mic " + take.mics[m].mic);
        states.push_back(std::move(state));
    }
    const signal::Bands bands = bands_of(show.plan.plan, take.circuit, "", show.plan.plan.air);
    wanted.sweep_s = take.drive.length_s;
    wanted.start_hz = bands.range_low_hz;
    wanted.stop_hz = bands.range_high_hz;
    wanted.aim_low_hz = bands.aim_low_hz;
    wanted.aim_high_hz = bands.aim_high_hz;
    wanted.gate_s = gate_s;
    wanted.noise_u_db = rules_.noise_u_db;
    wanted.signal_dbfs = circuit.signal_dbfs + level_dbfs - circuit.last_dbfs.value_or(level_dbfs);
    wanted.louder_db = rules_.ceilings.level_dbfs - level_dbfs;
    capture::Readiness result;
    if (take.mics.empty() || circuit.hearing == capture::Hearing::nothing)
        result.offered = take.mics.empty();
    else
        result = capture::readiness(wanted, states, names);
    if (trial.reference.state == capture::ReferenceState::swapped)
        says.push_back(fmt::format("channel {} is said to be the reference, but channel {} carries what is played; swap the numbers or the cables",
                                   take.reference, trial.reference.looks_like_reference.value_or(0)));
    if (trial.reference.state == capture::ReferenceState::missing)
        says.push_back(fmt::format("the reference on channel {} does not carry what is played; check the loopback", take.reference));
    if (circuit.hearing == capture::Hearing::nothing && !take.mics.empty())
        says.push_back(fmt::format("no mic hears {} yet", key_of(take)));
    result.offered = result.offered && says.empty();
    result.says.insert(result.says.begin(), says.begin(), says.end());
    return result;
}

Result<Cleared> SoundWatch::clear(const Show& show, capture::Device& device, const LiveTake& take, const Say& say, const Ask& ask,
                                  const std::atomic<bool>& stop) {
    Cleared cleared;
    cleared.level_dbfs = take.drive.level_dbfs;
    if (!plays(take.drive.kind)) return cleared;
    if (auto allowed = safety_.allow(take.drive.level_dbfs, {}); !allowed) return std::unexpected(allowed.error());
    if (auto read = remember(show); !read) return std::unexpected(read.error());
    Known& circuit = known(take);
    const auto tell = [&](const std::string& text) {
        if (say) say(text);
    };
    std::optional<Trial> last;
    for (; cleared.trials < longest_climb; ++cleared.trials) {
        cleared.level_dbfs = safety_.next_level_dbfs(take.drive.level_dbfs, circuit.last_dbfs, circuit.hearing, circuit.heard);
        const bool there = circuit.last_dbfs && (cleared.level_dbfs >= take.drive.level_dbfs - same_db || cleared.level_dbfs <= *circuit.last_dbfs + same_db);
        if (there) break;
        if (auto allow = allowed(cleared.level_dbfs, circuit.heard, ask); !allow) return std::unexpected(allow.error());
        auto trial = listen(show, device, take, cleared.level_dbfs, last ? before_trial_s : listening_s, stop);
        if (!trial) return std::unexpected(trial.error());
        circuit.hearing = trial->hearing;
        if (trial->hearing == capture::Hearing::well) circuit.signal_dbfs = trial->signal_dbfs;
        note(show, take, trial->recording, cleared.level_dbfs, trial->start_s, trial_s);
        if (!last) {
            last = std::move(*trial);
        } else {
            last->heard = trial->heard;
            last->reference = std::move(trial->reference);
        }
    }
    if (auto allow = allowed(cleared.level_dbfs, circuit.heard, ask); !allow) return std::unexpected(allow.error());
    if (!last) {
        auto quiet = listen(show, device, take, {}, listening_s, stop);
        if (!quiet) return std::unexpected(quiet.error());
        quiet->heard.assign(take.mics.size(), true);  // nothing played, so nothing is said of it
        last = std::move(*quiet);
    }
    if (!circuit.heard && through_air(take.drive.kind) && !unknown_level_said_) {
        tell(std::string(capture::unknown_level_caution()));
        unknown_level_said_ = true;
    }
    cleared.readiness = ready(show, take, *last, circuit, cleared.level_dbfs);
    for (double waited_s = 0.0; !cleared.readiness.offered && cleared.readiness.quieter_db && waited_s < rules_.patience_s && !stop;
         waited_s += listening_s) {
        auto quiet = listen(show, device, take, {}, listening_s, stop);
        if (!quiet) return std::unexpected(quiet.error());
        quiet->heard.assign(take.mics.size(), true);
        cleared.readiness = ready(show, take, *quiet, circuit, cleared.level_dbfs);
    }
    for (const auto& text : cleared.readiness.says) tell(text);
    if (cleared.level_dbfs < take.drive.level_dbfs - same_db)
        tell(fmt::format("Played at {:.1f} dBFS instead of {:.1f}: {}", cleared.level_dbfs, take.drive.level_dbfs,
                         circuit.hearing == capture::Hearing::overloaded ? "a mic is overloaded; lower its gain"
                         : circuit.hearing == capture::Hearing::nothing  ? "no mic hears it, so it might be loud where nobody listens"
                                                                         : "louder would be too much where a person may stand"));
    return cleared;
}

void SoundWatch::note(const Show& show, const LiveTake& take, const capture::Recording& recording, double level_dbfs, double start_s, double length_s) {
    Known& circuit = known(take);
    if (circuit.hearing == capture::Hearing::well && circuit.last_dbfs && recording.sheet.trial == false)
        circuit.signal_dbfs += level_dbfs - *circuit.last_dbfs;
    circuit.last_dbfs = level_dbfs;
    sounded_s_ += length_s;
    if (!through_air(take.drive.kind)) return;
    std::optional<capture::HeardLevel> loudest;
    for (const auto& mic : take.mics) {
        const auto own = std::ranges::find(take.known_mics, mic.mic, &capture::Mic::id);
        const auto kept = pascals_.find(mic.mic);
        std::optional<double> pascal = own != take.known_mics.end() ? own->pascal_per_fs : std::nullopt;
        if (!pascal && kept != pascals_.end()) pascal = kept->second;
        if (!pascal || static_cast<std::size_t>(mic.channel) > recording.channels.size()) continue;
        const auto samples = between(channel_of(recording, mic.channel), recording.rate_hz, start_s, 1e9);
        const auto dba = level_dba(samples, recording.rate_hz, *pascal, length_s);
        if (!dba) continue;
        const capture::HeardLevel heard{*dba, level_dbfs, mic_distance_m(show.plan.plan, take.circuit, mic.position, rules_.standing_m), rules_.standing_m};
        if (!loudest || capture::predicted_dba(heard, level_dbfs) > capture::predicted_dba(*loudest, level_dbfs)) loudest = heard;
    }
    if (!loudest) return;
    circuit.heard = loudest;
    exposure_.add(capture::predicted_dba(*loudest, level_dbfs), length_s);
}

void SoundWatch::heard(const Show& show, const LiveTake& take, const capture::Recording& recording, double level_dbfs, double start_s, double length_s) {
    if (plays(take.drive.kind)) note(show, take, recording, level_dbfs, start_s, length_s);
}

std::string SoundWatch::exposure_line() const {
    if (sounded_s_ <= 0.0) return {};
    const std::string duration = sounded_s_ < 120.0 ? fmt::format("{:.0f} s", sounded_s_) : fmt::format("{:.0f} min", sounded_s_ / 60.0);
    const auto day = exposure_.lex_8h_dba();
    if (!day) return fmt::format("Exposure: {} of signal; its level where people stand is unknown, as no mic is calibrated. Local rules decide.", duration);
    return fmt::format("Exposure {:.1f} m from a box: {} of signal, {:.2g} % of a day's dose (85 dBA for 8 h, 3 dB exchange), LEX,8h {:.0f} dBA. "
                       "A caution, not a finding: local rules decide.",
                       rules_.standing_m, duration, exposure_.dose_pct(), *day);
}

}  // namespace proofwalk::walk
