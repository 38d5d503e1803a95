// The walk as one path of steps: mics are put at positions, circuits are unmuted one after another, each step is one take.
// What is done follows from the log alone, so a walk that was broken off goes on at the same step.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "capture/device.hpp"
#include "rehearsal/rehearsal.hpp"
#include "walk/channel_map.hpp"
#include "walk/excite.hpp"
#include "walk/judged.hpp"
#include "walk/live_take.hpp"
#include "walk/store_take.hpp"

namespace proofwalk::walk {

// Mics stand at these positions while these circuits sound one after another.
struct Round {
    std::vector<std::string> positions;  // one mic each, in the order of the mics
    std::vector<std::string> circuits;
    friend bool operator==(const Round&, const Round&) = default;
};
// Positions in the plan's order, as many at once as there are mics; only circuits that a check needs there.
[[nodiscard]] std::vector<Round> rounds_in_plan_order(const plan::Plan& plan, int mics);

struct CheckName {
    plan::CheckKind kind = plan::CheckKind::sounding;
    std::string subject;
    friend bool operator==(const CheckName&, const CheckName&) = default;
};

enum class StepState { done, now, to_come, left_out };  // left out: every check that it serves is skipped

struct Step {
    std::size_t round = 0;               // from 0
    bool opens_round = false;            // mics are put in place first
    std::string circuit;                 // empty: a silence take, the noise at these places
    std::vector<std::string> positions;
    std::vector<CheckName> settles;      // checks that have all their takes once the steps up to this one are done
    double seconds = 0.0;                // expected, with handling
    StepState state = StepState::to_come;
};

struct Path {
    std::vector<Step> steps;
    std::optional<std::size_t> now;  // absent: nothing is to come
    std::size_t done = 0;            // done or left out
    double left_s = 0.0;             // expected for what is to come
};

// How long things take by hand: common practice, no source.
struct Pace {
    double signal_s = 6.0;     // one take, from the first sample to the last
    double per_take_s = 6.0;   // unmuting, a look at the result
    double per_mic_s = 15.0;   // carrying one mic to its place
};

[[nodiscard]] Path path_of(const plan::Plan& plan, const std::vector<Round>& rounds,
                           const std::vector<log::TakeRecord>& takes, const std::vector<report::ReadingRow>& readings,
                           const std::vector<verify::CheckResult>& checks, const Pace& pace);

// "Put mics at p4, p7. Unmute FF1. Then go."
[[nodiscard]] std::string instruction(const Path& path, std::size_t step);
// The step whose take would serve this check again; absent when no step does.
[[nodiscard]] std::optional<std::size_t> step_serving(const plan::Plan& plan, const Path& path, const CheckName& check);
// The checks of the plan that a step's take is evidence for.
[[nodiscard]] std::vector<CheckName> served_by(const plan::Plan& plan, const Step& step);

// Where a take comes from: the simulated room or an audio device.
class TakeSource {
public:
    [[nodiscard]] static Result<TakeSource> rehearsal(const plan::Plan& plan, const rehearsal::Settings& settings);
    [[nodiscard]] static Result<TakeSource> device(const std::string& name);
    // As people name it: an audio device, "rehearsal" (the simulated room) or "rehearsal:TROUBLE" (the same behind a device
    // that misbehaves: dropping, clipping, drifting, dying).
    [[nodiscard]] static Result<TakeSource> named(const plan::Plan& plan, const std::string& name);

    [[nodiscard]] capture::Device& device() const { return *device_; }
    // Levels reached and exposure since the source was opened; used for every take of a real device.
    [[nodiscard]] SoundWatch& sound() const { return *sound_; }
    void set_sound(const SoundRules& rules) { *sound_ = SoundWatch(rules); }
    [[nodiscard]] bool simulated() const { return room_ != nullptr; }
    [[nodiscard]] std::vector<rehearsal::Hung> hung() const;  // what really hangs there; empty for a real device

private:
    std::unique_ptr<rehearsal::Room> room_;
    std::unique_ptr<capture::Device> device_;
    std::unique_ptr<SoundWatch> sound_ = std::make_unique<SoundWatch>();
};

struct Setup {
    int reference = 1;               // capture channel with the loopback, from 1
    std::vector<int> mic_inputs;     // capture channel of each mic, from 1; empty: the channels after the reference
    std::vector<capture::Mic> mics;  // what is known of each; may be empty
    Drive drive;
    std::string armed_by;
    std::vector<CircuitOutput> outputs;   // playback channels; circuits that are not named play as planned
    std::optional<int> loopback_output;   // see LiveTake
    bool practise_sound = false;          // the simulated room starts low and climbs too
    SoundWatch::Say say;
    SoundWatch::Ask ask;
};
// With the channels of the show's log, where it keeps any.
void use_channels(Setup& setup, const ChannelMap& kept);

// The take that a step asks for.
[[nodiscard]] LiveTake take_of(const plan::Plan& plan, const TakeSource& source, const Step& step, const Setup& setup);
// Captures and stores one step; the caller judges afterwards (see judged), so that the readings are on the screen first.
[[nodiscard]] Result<StoredTake> take_step(Show& show, const TakeSource& source, const Step& step, const Setup& setup,
                                           const std::function<void(const capture::Progress&)>& progress,
                                           const std::atomic<bool>& stop);

}  // namespace proofwalk::walk
