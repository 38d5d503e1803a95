#include <csignal>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <iostream>
#include <memory>

#include "capture/preference.hpp"
#include "cli/commands.hpp"
#include "cli/logged.hpp"
#include "cli/take_channels.hpp"
#include "cli/take_keys.hpp"
#include "walk/judged.hpp"
#include "walk/live_take.hpp"
#include "walk/overlapped_take.hpp"
#include "walk/run_sequence.hpp"
#include "walk/session.hpp"

namespace proofwalk::cli {
namespace {

struct Options {
    std::string plan, log, device, kind = "sweep", armed;
    TypedChannels channels;
    walk::Drive drive;
    walk::SoundRules sound;
    walk::SequenceRules sequence;
    std::optional<double> calibrator_db, count_in_s;
    bool all = false, overlap = false, hall_clear = false, verbose = false;
};

walk::SequenceControl control;

void ask_stop(int) { control.press(walk::SequenceKey::stop); }

// The device as named, else the one remembered on this machine.
Result<std::string> device_name(const std::string& named) {
    if (!named.empty()) return named;
    const auto remembered = capture::load_preference();
    if (!remembered) return std::unexpected(remembered.error());
    if (*remembered) return (*remembered)->device;
    return std::unexpected(Fault{FaultKind::input, "", "--device", "no device is named and none is remembered on this machine",
                                 "see: proofwalk devices"});
}

// A person at a terminal arms by typing a name under the caution; anywhere else --armed has to say it.
bool arm_by_hand(Console& console, Options& options) {
    if (!options.armed.empty()) return true;
    console.note(walk::sound_caution());
    if (isatty(STDIN_FILENO) == 0 || isatty(STDERR_FILENO) == 0) return false;
    std::cerr << "Type your name to arm, or Enter alone to leave: " << std::flush;
    return static_cast<bool>(std::getline(std::cin, options.armed)) && options.armed.find_first_not_of(' ') != std::string::npos;
}

class TakeRun {
public:
    TakeRun(Console& console, const Options& options, walk::Show& show, const walk::TakeSource& source, TakeChannels channels, TakeKeys& keys)
        : console_(console), options_(options), show_(show), source_(source), channels_(std::move(channels)), keys_(keys) {
        say_ = [this](const std::string& text) { console_.note(text); };
        if (keys_.attended()) ask_ = [this](const std::string& question) { return keys_.asked(question); };
    }

    int one() {
        walk::LiveTake take = common();
        if (!channels_.circuits.empty()) {
            take.circuit = channels_.circuits.front().circuit;
            take.output = channels_.circuits.front().output;
        } else if (!options_.channels.outputs.empty()) {
            take.output = options_.channels.outputs.front();
        }
        return stored_and_judged(walk::take_stored(show_, source_.device(), take, progress(), control.halt()));
    }

    int overlapped() {
        const auto plan = walk::overlap_of(show_.plan.plan, channels_.circuits, options_.drive);
        if (!plan) return console_.tell(plan.error());
        if (!plan->left_out.empty())
            console_.note(fmt::format("Not in this take, for their models have another range: {}", fmt::join(plan->left_out, ", ")));
        return stored_and_judged(walk::take_overlapped(show_, source_.device(), common(), *plan, progress(), control.halt()));
    }

    int sequence(const std::vector<walk::Step>& steps) {
        walk::SequenceRules rules = options_.sequence;
        rules.attended = keys_.attended();
        if (options_.count_in_s) rules.count_in_s = *options_.count_in_s;
        if (keys_.attended()) console_.note(keys_text);
        int status = status_done;
        walk::SequenceHooks hooks;
        hooks.progress = progress();
        hooks.moved = [&](const walk::Sequence& now, double left_s) { tell(now, left_s, steps); };
        hooks.stored = [&](const walk::StoredTake& take) {
            print_logged(console_)(take, 1, 1);
            if (const int kept = keep(); kept > status) status = kept;
        };
        hooks.judged = [&](const walk::StoredTake& take) { status = std::max(status, print_readings(take.label)); };
        hooks.trouble = [&](const Fault& fault) { status = std::max(status, console_.tell(fault)); };
        const auto result = walk::run_sequence(show_, source_, steps, setup(), channels_.one_for_all && keys_.attended(), rules, control, hooks);
        if (result.ended) status = std::max(status, exit_status(*result.ended));
        std::vector<std::string> open;
        for (std::size_t i = 0; i < steps.size(); ++i)
            if (!result.entries[i].done) open.push_back(steps[i].circuit.empty() ? "silence" : steps[i].circuit);
        if (!open.empty()) console_.note(fmt::format("Not taken: {}", fmt::join(open, ", ")));
        return std::max(status, print_end());
    }

    [[nodiscard]] walk::Setup setup() const {
        walk::Setup setup;
        setup.reference = channels_.reference;
        setup.loopback_output = channels_.loopback_output;
        setup.outputs = channels_.circuits;
        for (const auto& mic : channels_.mics) {
            setup.mic_inputs.push_back(mic.channel);
            setup.mics.push_back({mic.mic, {}, {}, 0.0, {}});
        }
        setup.drive = options_.drive;
        setup.armed_by = options_.armed;
        setup.practise_sound = true;
        setup.say = say_;
        setup.ask = ask_;
        return setup;
    }

private:
    [[nodiscard]] walk::LiveTake common() const {
        walk::LiveTake take;
        take.reference = channels_.reference;
        take.loopback_output = channels_.loopback_output;
        take.mics = channels_.mics;
        take.armed_by = options_.armed;
        take.drive = options_.drive;
        take.calibrator_db = options_.calibrator_db;
        take.watch = &source_.sound();
        take.say = say_;
        take.ask = ask_;
        return take;
    }

    [[nodiscard]] std::function<void(const capture::Progress&)> progress() const {
        return [this](const capture::Progress& now) {
            console_.progress(static_cast<std::size_t>(now.done_s), static_cast<std::size_t>(now.whole_s) + 1, "seconds");
        };
    }

    int stored_and_judged(const Result<walk::StoredTake>& stored) {
        if (!stored) return console_.tell(stored.error());
        print_logged(console_)(*stored, 1, 1);
        int status = keep();
        if (auto judgement = walk::judged(show_, walk::origin(options_.armed, source_.device().info().name)); !judgement)
            return console_.tell(judgement.error());
        status = std::max(status, print_readings(stored->label));
        status = std::max(status, console_.tell(stored->faults));
        return std::max(status, print_end());
    }

    // The channels that served a take serve the next one too.
    int keep() {
        walk::ChannelMap map{channels_.reference, channels_.loopback_output, {}, channels_.circuits};
        for (const auto& mic : channels_.mics)
            if (!mic.position.empty()) map.mics.push_back(mic);
        const auto kept = walk::keep_channels(show_, std::move(map), walk::origin(options_.armed, source_.device().info().name));
        return kept ? status_done : console_.tell(kept.error());
    }

    int print_readings(const std::string& label) {
        const auto rows = walk::readings(show_);
        if (!rows) return console_.tell(rows.error());
        std::vector<report::ReadingRow> mine;
        for (const auto& row : *rows)
            if (row.taken.take == label) mine.push_back(row);
        if (!mine.empty()) console_.out() << report::readings_text(mine, console_.style()) << std::flush;
        return status_done;
    }

    int print_end() {
        if (const auto line = source_.sound().exposure_line(); !line.empty() && !source_.simulated()) console_.note(line);
        const auto tally = walk::tally(show_);
        if (!tally) return console_.tell(tally.error());
        console_.note(counts_line(tally->counts()) + "; see: proofwalk tally " + options_.log);
        return status_done;
    }

    void tell(const walk::Sequence& now, double left_s, const std::vector<walk::Step>& steps) {
        if (now.phase() == walk::SequencePhase::over) return;
        const std::size_t at = now.at();
        const std::string what = steps[at].circuit.empty() ? "silence" : steps[at].circuit;
        if (!now.says().empty() && now.says() != said_) console_.note(fmt::format("{}: {}", what, now.says()));
        said_ = now.says();
        if (now.phase() == walk::SequencePhase::by_hand) console_.note(fmt::format("Unmute {} alone, then press Enter", what));
        if (now.phase() == walk::SequencePhase::paused) console_.note(fmt::format("Paused before {}; space goes on", what));
        if (now.phase() == walk::SequencePhase::count_in && channels_.one_for_all && !keys_.attended() && at != announced_) {
            announced_ = at;
            console_.note(fmt::format("Unmute {} alone now: {:.0f} s", what, std::ceil(left_s)));
        }
        if (now.phase() == walk::SequencePhase::count_in) console_.progress(at, steps.size(), fmt::format("{} in {:.0f} s", what, std::ceil(left_s)));
        if (now.phase() == walk::SequencePhase::playing) console_.note(fmt::format("{} of {}: {}", at + 1, steps.size(), what));
    }

    Console& console_;
    const Options& options_;
    walk::Show& show_;
    const walk::TakeSource& source_;
    TakeChannels channels_;
    TakeKeys& keys_;
    walk::SoundWatch::Say say_;
    walk::SoundWatch::Ask ask_;
    std::string said_;
    std::optional<std::size_t> announced_;  // the take that was asked to be unmuted
};

// The circuits that these positions still need, the noise first where it was not taken yet.
Result<std::vector<walk::Step>> steps_left(const walk::Show& show, const TakeChannels& channels, bool only_named) {
    walk::Round round;
    for (const auto& mic : channels.mics) round.positions.push_back(mic.position);
    for (const auto& circuit : channels.circuits) round.circuits.push_back(circuit.circuit);
    std::vector<walk::Step> steps;
    if (only_named) {
        for (const auto& circuit : round.circuits) steps.push_back({.circuit = circuit, .positions = round.positions, .settles = {}});
        return steps;
    }
    const plan::Plan& plan = show.plan.plan;
    std::erase_if(round.circuits, [&](const std::string& circuit) {
        return walk::served_by(plan, {.circuit = circuit, .positions = round.positions, .settles = {}}).empty();
    });
    const auto takes = show.log.takes(false);
    if (!takes) return std::unexpected(takes.error());
    const auto rows = walk::readings(show);
    if (!rows) return std::unexpected(rows.error());
    const auto tally = walk::tally(show);
    if (!tally) return std::unexpected(tally.error());
    for (const auto& step : walk::path_of(plan, {round}, *takes, *rows, tally->checks, {}).steps)
        if (step.state == walk::StepState::now || step.state == walk::StepState::to_come) steps.push_back(step);
    return steps;
}

int run_takes(Console& console, Options& options) {
    auto show = walk::open_show(options.plan, options.log);
    if (!show) return console.tell(show.error());
    const auto kept = walk::kept_channels(*show);
    if (!kept) return console.tell(kept.error());
    const bool through_circuit = options.kind == "sweep" || options.kind == "noise";
    if (options.all && options.channels.circuits.empty()) options.channels.circuits = show->plan.plan.circuits();
    if (options.channels.circuits.empty() && through_circuit && options.channels.outputs.empty())
        return console.tell(Fault{FaultKind::input, "", "--circuit", "no circuit is named", "give --circuit ID, or --all for all that these positions need"});
    auto channels = channels_of(show->plan.plan, *kept, options.channels);
    if (!channels) return console.tell(channels.error());
    const auto device = device_name(options.device);
    if (!device) return console.tell(device.error());
    auto source = walk::TakeSource::named(show->plan.plan, *device);
    if (!source) return console.tell(source.error());
    options.drive.rate_hz = source->device().info().rate_hz;
    source->set_sound(options.sound);
    if (auto armed = source->sound().arm(options.armed, true, now()); !armed) return console.tell(armed.error());
    if (options.hall_clear) source->sound().confirm_hall_clear(now());
    console.note(walk::sound_caution());
    std::signal(SIGINT, ask_stop);
    std::signal(SIGTERM, ask_stop);

    int status = status_done;
    {
        TakeKeys keys(control);
        TakeRun run(console, options, *show, *source, *channels, keys);
        if (options.overlap) {
            status = run.overlapped();
        } else if (options.all || channels->circuits.size() > 1) {
            const auto steps = steps_left(*show, *channels, !options.all);
            if (!steps) return console.tell(steps.error());
            if (steps->empty()) console.note("Nothing is left to take at these positions");
            if (!steps->empty()) status = run.sequence(*steps);
        } else {
            status = run.one();
        }
    }
    if (!source->simulated() && status == status_done)
        if (const auto saved = capture::save_preference({*device, options.drive.rate_hz, channels->reference}); !saved)
            console.note("the device could not be remembered: " + sentence(saved.error()));
    return status;
}

int take(Console& console, Options options) {
    options.drive.kind = *capture::take_kind_from_word(options.kind);
    if (options.drive.kind == signal::TakeKind::calibrator && !options.calibrator_db) options.calibrator_db = 94.0;
    if (!arm_by_hand(console, options))
        return console.tell(Fault{FaultKind::input, "", "take", "nothing plays until a person has armed it",
                                  "read the caution above, then give --armed \"YOUR NAME\""});
    const int status = run_takes(console, options);
    if (options.verbose) console.note("What the audio libraries printed:\n" + capture::device_chatter());
    return status;
}

void add_sound_options(CLI::App& command, const std::shared_ptr<Options>& options) {
    command.add_option("--armed", options->armed, "name of the person who has read the caution and cleared the area; asked for on a terminal");
    command.add_flag("--hall-clear", options->hall_clear, "the hall is clear of people: levels above 85 dBA where people may stand are allowed");
    command.add_option("--level", options->drive.level_dbfs, "dB re a full-scale sine; each circuit starts at -40 and climbs to it")
        ->capture_default_str()
        ->check(CLI::Range(-120.0, 0.0));
    command.add_option("--ceiling", options->sound.ceilings.level_dbfs, "level that is never exceeded, dBFS")->capture_default_str()->check(CLI::Range(-120.0, -3.0));
    command.add_option("--ceiling-dba", options->sound.ceilings.standing_dba, "level where people may stand that is never exceeded, dBA; needs a calibrated mic")
        ->capture_default_str()
        ->check(CLI::Range(40.0, 120.0));
    command.add_option("--standing", options->sound.standing_m, "metres from any box to the nearest place where a person may stand")
        ->capture_default_str()
        ->check(CLI::Range(0.3, 200.0));
    command.add_option("--patience", options->sound.patience_s, "seconds to wait for a quieter room before each take")->capture_default_str()->check(CLI::Range(0.0, 600.0));
}

void add_sequence_options(CLI::App& command, const std::shared_ptr<Options>& options) {
    command.add_flag("--all", options->all, "one after another, all circuits that these positions still need; the noise first");
    command.add_flag("--overlap", options->overlap, "all circuits named in one take, their sweeps overlapping; each on an output of its own");
    command.add_option("--count-in", options->count_in_s, "seconds before each take of a sequence (3)")->check(CLI::Range(0.0, 600.0));
    command.add_option("--repeats", options->sequence.automatic_repeats, "how often a take of a sequence is repeated when noise or lost samples spoil it")
        ->capture_default_str()
        ->check(CLI::Range(0, 20));
}

}  // namespace

void add_take_command(CLI::App& app, Console& console, Action& action) {
    auto options = std::make_shared<Options>();
    CLI::App* command = app.add_subcommand("take", "Play a test signal through circuits, capture it, store and judge it");
    command->add_option("PLAN", options->plan, "the plan, a TOML file")->required();
    command->add_option("--log", options->log, "the show's log; made when there is none")->required();
    command->add_option("--device", options->device, "audio device, see: proofwalk devices; or rehearsal[:dropping|clipping|drifting|dying] to practise; "
                                                    "without it the one used last on this machine");
    command->add_option("--circuit", options->channels.circuits, "the circuit that is unmuted; several, as A,B,C: one take after another");
    command->add_option("--output", options->channels.outputs, "playback channel that drives it, from 1; for several circuits as many, or one for all; "
                                                              "without it as the log or the plan says")->delimiter(',');
    command->add_option("--reference", options->channels.reference, "capture channel with the loopback, from 1; without it as in the log");
    command->add_option("--loopback-output", options->channels.loopback_output, "playback channel wired to the reference, where the circuits' outputs are not");
    command->add_option("--mics", options->channels.mics, "CHANNEL=POSITION[,CHANNEL=POSITION...], POSITION[,...] or, for takes without positions, CHANNEL[,...]; "
                                                         "without it as in the log");
    command->add_option("--length", options->drive.length_s, "seconds of signal")->capture_default_str()->check(CLI::Range(0.2, 120.0));
    command->add_option("--kind", options->kind, "sweep, noise, silence, loopback, match or calibrator")
        ->capture_default_str()
        ->check(CLI::IsMember({"sweep", "noise", "silence", "loopback", "match", "calibrator"}));
    command->add_option("--calibrator", options->calibrator_db, "level of the calibrator, dB SPL (94)")->check(CLI::Range(60.0, 140.0));
    command->add_flag("--verbose", options->verbose, "show what the audio libraries print");
    add_sound_options(*command, options);
    add_sequence_options(*command, options);
    command->footer(
        "Example: proofwalk take hall.toml --log show.db --device \"USB Audio\" --circuit M1 --output 1 --reference 1 "
        "--mics 2=p1,3=p2 --armed \"R. Walker\"\n"
        "On a terminal: Space pauses a sequence, Enter goes at once, s skips, r repeats, q or Ctrl-C stops with a fade.");
    command->callback([=, &console, &action] { action = [=, &console] { return take(console, *options); }; });
}

}  // namespace proofwalk::cli
