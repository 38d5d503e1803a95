#include "walk/session.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "capture/faulty_device.hpp"
#include <algorithm>
#include <set>
#include <utility>


namespace proofwalk::walk {
namespace {

using Pair = std::pair<std::string, std::string>;  // circuit, position

// A check without positions of its own (does the circuit sound?) is served anywhere.
bool needs(const plan::PlannedCheck& check, const std::string& circuit, const std::string& position) {
    return std::ranges::find(check.circuits, circuit) != check.circuits.end() &&
           (check.positions.empty() || std::ranges::find(check.positions, position) != check.positions.end());
}

std::vector<Pair> pairs_of(const plan::PlannedCheck& check) {
    std::vector<Pair> pairs;
    for (const auto& circuit : check.circuits) {
        if (check.positions.empty()) pairs.emplace_back(circuit, "");
        for (const auto& position : check.positions) pairs.emplace_back(circuit, position);
    }
    return pairs;
}

bool contains(const std::vector<std::string>& words, const std::string& word) {
    return std::ranges::find(words, word) != words.end();
}

std::vector<Step> steps_of(const std::vector<Round>& rounds, const Pace& pace) {
    std::vector<Step> steps;
    for (std::size_t r = 0; r < rounds.size(); ++r) {
        std::vector<std::string> circuits = {""};
        circuits.insert(circuits.end(), rounds[r].circuits.begin(), rounds[r].circuits.end());
        for (const auto& circuit : circuits) {
            Step step;
            step.round = r;
            step.opens_round = circuit.empty();
            step.circuit = circuit;
            step.positions = rounds[r].positions;
            step.seconds = pace.signal_s + pace.per_take_s +
                           (step.opens_round ? pace.per_mic_s * static_cast<double>(step.positions.size()) : 0.0);
            steps.push_back(std::move(step));
        }
    }
    return steps;
}

// The step at which the last of a check's pairs is heard settles it.
void set_settles(std::vector<Step>& steps, const std::vector<plan::PlannedCheck>& checks) {
    for (const auto& check : checks) {
        std::optional<std::size_t> last;
        bool complete = true;
        for (const auto& [circuit, position] : pairs_of(check)) {
            const auto step = std::ranges::find_if(steps, [&](const Step& candidate) {
                return candidate.circuit == circuit && (position.empty() || contains(candidate.positions, position));
            });
            complete = complete && step != steps.end();
            if (step != steps.end())
                last = std::max(last.value_or(0), static_cast<std::size_t>(step - steps.begin()));
        }
        if (complete && last) steps[*last].settles.push_back({check.kind, check.subject});
    }
}

bool silence_taken(const Step& step, const std::vector<log::TakeRecord>& takes) {
    return std::ranges::any_of(takes, [&](const log::TakeRecord& take) {
        return take.kind == signal::TakeKind::silence && std::ranges::all_of(step.positions, [&](const auto& position) {
                   return std::ranges::find(take.silence, position, &log::SilenceLevel::position) != take.silence.end();
               });
    });
}

bool all_skipped(const std::vector<CheckName>& served, const std::vector<verify::CheckResult>& checks) {
    return !served.empty() && std::ranges::all_of(served, [&](const CheckName& name) {
        return std::ranges::any_of(checks, [&](const verify::CheckResult& check) {
            return check.kind == name.kind && check.subject == name.subject &&
                   check.verdict == verify::Verdict::skipped;
        });
    });
}

}  // namespace

std::vector<Round> rounds_in_plan_order(const plan::Plan& plan, int mics) {
    const auto checks = plan::checks(plan);
    const std::size_t at_once = static_cast<std::size_t>(std::max(mics, 1));
    std::vector<Round> rounds;
    for (const auto& position : plan.positions) {
        if (rounds.empty() || rounds.back().positions.size() == at_once) rounds.emplace_back();
        rounds.back().positions.push_back(position.id);
    }
    for (auto& round : rounds)
        for (const auto& circuit : plan.circuits())
            if (std::ranges::any_of(checks, [&](const plan::PlannedCheck& check) {
                    return std::ranges::any_of(round.positions, [&](const auto& position) {
                        return !check.positions.empty() && needs(check, circuit, position);
                    });
                }))
                round.circuits.push_back(circuit);
    // A circuit that no position serves is still asked whether it sounds.
    if (!rounds.empty())
        for (const auto& circuit : plan.circuits())
            if (std::ranges::none_of(rounds, [&](const Round& round) { return contains(round.circuits, circuit); }))
                rounds.front().circuits.push_back(circuit);
    std::erase_if(rounds, [](const Round& round) { return round.circuits.empty(); });
    return rounds;
}

Path path_of(const plan::Plan& plan, const std::vector<Round>& rounds, const std::vector<log::TakeRecord>& takes,
             const std::vector<report::ReadingRow>& readings, const std::vector<verify::CheckResult>& checks,
             const Pace& pace) {
    const auto planned = plan::checks(plan);
    Path path;
    path.steps = steps_of(rounds, pace);
    set_settles(path.steps, planned);

    std::set<Pair> heard;
    std::set<std::string> sounded;
    for (const auto& row : readings)
        if (!row.retired) {
            heard.emplace(row.taken.circuit, row.taken.position);
            sounded.insert(row.taken.circuit);
        }
    for (auto& step : path.steps) {
        if (step.circuit.empty()) continue;
        bool asked = false, complete = true;
        for (const auto& position : step.positions)
            if (std::ranges::any_of(planned, [&](const plan::PlannedCheck& check) {
                    return !check.positions.empty() && needs(check, step.circuit, position);
                })) {
                asked = true;
                complete = complete && heard.contains({step.circuit, position});
            }
        if (asked ? complete : sounded.contains(step.circuit))
            step.state = StepState::done;
        else if (all_skipped(served_by(plan, step), checks))
            step.state = StepState::left_out;
    }
    // The noise at a place is of no more use once all that was to sound there has.
    for (auto& step : path.steps)
        if (step.circuit.empty() &&
            (silence_taken(step, takes) || std::ranges::none_of(path.steps, [&](const Step& other) {
                 return other.round == step.round && !other.circuit.empty() && other.state == StepState::to_come;
             })))
            step.state = StepState::done;
    for (std::size_t i = 0; i < path.steps.size(); ++i) {
        Step& step = path.steps[i];
        if (step.state == StepState::done || step.state == StepState::left_out) {
            ++path.done;
            continue;
        }
        path.left_s += step.seconds;
        if (!path.now) {
            path.now = i;
            step.state = StepState::now;
        }
    }
    return path;
}

std::string instruction(const Path& path, std::size_t index) {
    const Step& step = path.steps.at(index);
    std::string text;
    if (step.opens_round) text = fmt::format("Put mics at {}. ", fmt::join(step.positions, ", "));
    if (step.circuit.empty()) return text + "Mute everything, keep quiet. Then go.";
    return text + fmt::format("Unmute {} alone. Then go.", step.circuit);
}

std::optional<std::size_t> step_serving(const plan::Plan& plan, const Path& path, const CheckName& name) {
    const auto planned = plan::checks(plan);
    const auto check = std::ranges::find_if(planned, [&](const plan::PlannedCheck& candidate) {
        return candidate.kind == name.kind && candidate.subject == name.subject;
    });
    if (check == planned.end()) return std::nullopt;
    std::optional<std::size_t> last;
    for (std::size_t i = 0; i < path.steps.size(); ++i)
        if (std::ranges::any_of(path.steps[i].positions,
                                [&](const auto& position) { return needs(*check, path.steps[i].circuit, position); }))
            if (!last || path.steps[*last].state == StepState::done) last = i;
    return last;
}

std::vector<CheckName> served_by(const plan::Plan& plan, const Step& step) {
    std::vector<CheckName> names;
    for (const auto& check : plan::checks(plan))
        if (std::ranges::any_of(step.positions, [&](const auto& position) { return needs(check, step.circuit, position); }))
            names.push_back({check.kind, check.subject});
    return names;
}

Result<TakeSource> TakeSource::rehearsal(const plan::Plan& plan, const rehearsal::Settings& settings) {
    auto room = rehearsal::make_room(plan, settings);
    if (!room) return std::unexpected(room.error());
    TakeSource source;
    source.room_ = std::move(*room);
    source.device_ = source.room_->device();
    return source;
}

Result<TakeSource> TakeSource::device(const std::string& name) {
    auto device = capture::open_device(name);
    if (!device) return std::unexpected(device.error());
    TakeSource source;
    source.device_ = std::move(*device);
    return source;
}

Result<TakeSource> TakeSource::named(const plan::Plan& plan, const std::string& name) {
    constexpr std::string_view simulated = "rehearsal";
    if (name != simulated && !name.starts_with(std::string(simulated) + ":")) return device(name);
    auto source = rehearsal(plan, {});
    if (!source || name == simulated) return source;
    const auto trouble = capture::device_trouble_from_word(std::string_view(name).substr(simulated.size() + 1));
    if (!trouble)
        return std::unexpected(Fault{FaultKind::input, "", "--device", fmt::format("\"{}\" is no trouble that is known", name),
                                     "say rehearsal:dropping, :clipping, :drifting or :dying"});
    source->device_ = capture::with_trouble(std::move(source->device_), *trouble);
    return source;
}

std::vector<rehearsal::Hung> TakeSource::hung() const {
    return room_ ? room_->hung() : std::vector<rehearsal::Hung>{};
}

void use_channels(Setup& setup, const ChannelMap& kept) {
    setup.reference = kept.reference;
    setup.loopback_output = kept.loopback_output;
    setup.outputs = kept.outputs;
    setup.mic_inputs.clear();
    for (const auto& mic : kept.mics) setup.mic_inputs.push_back(mic.channel);
}

LiveTake take_of(const plan::Plan& plan, const TakeSource& source, const Step& step, const Setup& setup) {
    LiveTake take;
    take.circuit = step.circuit;
    const auto circuits = plan.circuits();
    const auto boxes = plan.boxes_of(step.circuit);
    const auto place = std::ranges::find(circuits, step.circuit);
    const auto own = std::ranges::find(setup.outputs, step.circuit, &CircuitOutput::circuit);
    if (!step.circuit.empty())
        take.output = own != setup.outputs.end()                ? own->output
                      : !boxes.empty() && boxes.front()->output ? *boxes.front()->output
                                                                : static_cast<int>(place - circuits.begin()) + 1;
    take.reference = setup.reference;
    take.loopback_output = setup.loopback_output;
    int next = setup.reference;
    for (std::size_t i = 0; i < step.positions.size(); ++i) {
        next = i < setup.mic_inputs.size() ? setup.mic_inputs[i] : next + 1;
        take.mics.push_back({next, i < setup.mics.size() ? setup.mics[i].id : fmt::format("m{}", i + 1), step.positions[i]});
    }
    take.known_mics = setup.mics;
    take.armed_by = setup.armed_by;
    take.drive = setup.drive;
    if (step.circuit.empty()) take.drive.kind = signal::TakeKind::silence;
    if (!source.simulated() || setup.practise_sound) take.watch = &source.sound();
    take.say = setup.say;
    take.ask = setup.ask;
    return take;
}

Result<StoredTake> take_step(Show& show, const TakeSource& source, const Step& step, const Setup& setup,
                             const std::function<void(const capture::Progress&)>& progress, const std::atomic<bool>& stop) {
    return take_stored(show, source.device(), take_of(show.plan.plan, source, step, setup), progress, stop);
}

}  // namespace proofwalk::walk
