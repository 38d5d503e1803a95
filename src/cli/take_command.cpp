#include <csignal>

#include <CLI/CLI.hpp>
#include <charconv>
#include <memory>

#include "capture/preference.hpp"
#include "cli/commands.hpp"
#include "cli/logged.hpp"
#include "walk/judged.hpp"
#include "walk/live_take.hpp"
#include "walk/session.hpp"

namespace proofwalk::cli {
namespace {

struct Options {
    std::string plan, log, device, circuit, kind = "sweep", mics, armed;
    walk::LiveTake take;
};

std::atomic<bool> stop_asked{false};

void ask_stop(int) { stop_asked = true; }

// "2=p1,3=p4": the mic on input 2 stands at p1, the one on input 3 at p4.
Result<std::vector<capture::MicChannel>> mics_from_text(const std::string& text) {
    std::vector<capture::MicChannel> mics;
    std::size_t start = 0;
    while (start <= text.size()) {
        const std::size_t end = std::min(text.find(',', start), text.size());
        const std::string part = text.substr(start, end - start);
        const std::size_t equals = part.find('=');
        int channel = 0;
        const char* first = part.data();
        const auto parsed = std::from_chars(first, first + std::min(equals, part.size()), channel);
        if (equals == std::string::npos || equals + 1 == part.size() || parsed.ec != std::errc{} ||
            parsed.ptr != first + equals)
            return std::unexpected(Fault{FaultKind::input, "", "--mics", fmt::format("\"{}\" is no CHANNEL=POSITION", part),
                                         "write for example --mics 2=p1,3=p4"});
        mics.push_back({channel, fmt::format("in{}", channel), part.substr(equals + 1)});
        start = end + 1;
    }
    return mics;
}

// The device as named, else the one remembered on this machine.
Result<std::string> device_name(const std::string& named) {
    if (!named.empty()) return named;
    const auto remembered = capture::load_preference();
    if (!remembered) return std::unexpected(remembered.error());
    if (*remembered) return (*remembered)->device;
    return std::unexpected(Fault{FaultKind::input, "", "--device", "no device is named and none is remembered on this machine",
                                 "see: proofwalk devices"});
}

int take(Console& console, Options options) {
    if (options.armed.empty()) {
        console.note(walk::sound_caution());
        return console.tell(Fault{FaultKind::input, "", "take", "nothing plays until a person has armed it",
                                  "read the caution above, then give --armed \"YOUR NAME\""});
    }
    auto mics = mics_from_text(options.mics);
    if (!mics) return console.tell(mics.error());
    options.take.mics = *mics;
    options.take.circuit = options.circuit;
    options.take.armed_by = options.armed;
    options.take.drive.kind = *capture::take_kind_from_word(options.kind);
    auto show = walk::open_show(options.plan, options.log);
    if (!show) return console.tell(show.error());
    const auto device = device_name(options.device);
    if (!device) return console.tell(device.error());
    auto source = walk::TakeSource::named(show->plan.plan, *device);
    if (!source) return console.tell(source.error());
    options.take.drive.rate_hz = source->device().info().rate_hz;
    console.note(walk::sound_caution());
    stop_asked = false;
    std::signal(SIGINT, ask_stop);
    std::signal(SIGTERM, ask_stop);
    const auto stored = walk::take_live(
        *show, source->device(), options.take,
        [&](const capture::Progress& progress) {
            console.progress(static_cast<std::size_t>(progress.done_s), static_cast<std::size_t>(progress.whole_s) + 1, "seconds");
        },
        stop_asked);
    if (!stored) return console.tell(stored.error());
    if (!source->simulated() && stored->faults.empty())
        if (const auto kept = capture::save_preference({*device, options.take.drive.rate_hz, options.take.reference}); !kept)
            console.note("the device could not be remembered: " + sentence(kept.error()));
    print_logged(console)(*stored, 1, 1);
    const auto tally = walk::tally(*show);
    if (!tally) return console.tell(tally.error());
    const auto rows = walk::readings(*show);
    if (!rows) return console.tell(rows.error());
    std::vector<report::ReadingRow> mine;
    for (const auto& row : *rows)
        if (row.taken.take == stored->label) mine.push_back(row);
    console.out() << report::readings_text(mine, console.style());
    const int status = console.tell(stored->faults);
    console.note(counts_line(tally->counts()) + "; see: proofwalk tally " + options.log);
    return status;
}

}  // namespace

void add_take_command(CLI::App& app, Console& console, Action& action) {
    auto options = std::make_shared<Options>();
    CLI::App* command = app.add_subcommand("take", "Play a test signal through one circuit, capture it, store and judge it");
    command->add_option("PLAN", options->plan, "the plan, a TOML file")->required();
    command->add_option("--log", options->log, "the show's log; made when there is none")->required();
    command->add_option("--device", options->device, "audio device, see: proofwalk devices; or rehearsal[:dropping|clipping|drifting|dying] to practise; "
                                                    "without it the one used last on this machine");
    command->add_option("--circuit", options->circuit, "the circuit that is unmuted");
    command->add_option("--output", options->take.output, "playback channel that drives it, from 1")->required();
    command->add_option("--reference", options->take.reference, "capture channel with the loopback, from 1")->required();
    command->add_option("--mics", options->mics, "CHANNEL=POSITION[,CHANNEL=POSITION...]")->required();
    command->add_option("--armed", options->armed, "name of the person who has read the caution and cleared the area");
    command->add_option("--length", options->take.drive.length_s, "seconds of signal")
        ->capture_default_str()
        ->check(CLI::Range(0.2, 120.0));
    command->add_option("--level", options->take.drive.level_dbfs, "dB re a full-scale sine")
        ->capture_default_str()
        ->check(CLI::Range(-120.0, 0.0));
    command->add_option("--kind", options->kind, "sweep, noise, silence, loopback or match")
        ->capture_default_str()
        ->check(CLI::IsMember({"sweep", "noise", "silence", "loopback", "match"}));
    command->footer(
        "Example: proofwalk take hall.toml --log show.db --device \"USB Audio\" --circuit M1 --output 1 --reference 1 "
        "--mics 2=p1,3=p2 --armed \"R. Walker\"");
    command->callback([=, &console, &action] { action = [=, &console] { return take(console, *options); }; });
}

}  // namespace proofwalk::cli
