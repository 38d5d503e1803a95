#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <csignal>
#include <memory>
#include <thread>

#include "capture/device.hpp"
#include "capture/meters.hpp"
#include "capture/readiness.hpp"
#include "cli/commands.hpp"
#include "report/device_list.hpp"

namespace proofwalk::cli {
namespace {

struct Options {
    std::string listen;
    int inputs = 0;
    double seconds = 5.0;
    bool json = false, verbose = false;
};

constexpr auto redraw_every = std::chrono::milliseconds(100);
constexpr double level_of_silence_dbfs = -200.0;

std::atomic<bool> stop_listening{false};

std::string level(double dbfs) { return dbfs > level_of_silence_dbfs ? fmt::format("{:.1f}", dbfs) : "none"; }

int list(Console& console, bool json) {
    const auto devices = capture::list_devices();
    if (!devices) return console.tell(devices.error());
    std::vector<report::DeviceRow> rows;
    for (const auto& device : *devices) rows.push_back({device.name, device.host_system, device.inputs, device.outputs, device.rate_hz});
    console.out() << (json ? report::devices_json(rows) : report::devices_text(rows));
    if (rows.empty() && !json) console.note("no audio device found; practise with: proofwalk rehearse PLAN --log LOG");
    return status_done;
}

// Inputs as they are, nothing played: on a terminal they move while it listens; at the end what was heard stands there.
int listen(Console& console, const Options& options) {
    const auto device = capture::open_device(options.listen);
    if (!device) return console.tell(device.error());
    const capture::DeviceInfo info = (*device)->info();
    const int inputs = options.inputs > 0 ? options.inputs : info.inputs;
    auto meters = capture::start_meters(options.listen, inputs, info.rate_hz);
    if (!meters) return console.tell(meters.error());
    std::signal(SIGINT, [](int) { stop_listening = true; });
    const auto until = std::chrono::steady_clock::now() + std::chrono::duration<double>(options.seconds);
    std::vector<double> highest_dbfs(static_cast<std::size_t>(inputs), level_of_silence_dbfs);
    std::optional<Fault> lost;
    while (std::chrono::steady_clock::now() < until && !stop_listening && !lost) {
        std::this_thread::sleep_for(redraw_every);
        lost = (*meters)->lost();
        const auto look = (*meters)->look();
        std::string line = "peak, dBFS:";
        for (std::size_t c = 0; c < look.size(); ++c) {
            highest_dbfs[c] = std::max(highest_dbfs[c], look[c].peak_dbfs);
            line += fmt::format("  {} {}", c + 1, level(look[c].peak_dbfs));
        }
        console.progress(0, 1, line);
    }
    console.progress(1, 1, "heard");
    console.out() << fmt::format("{:>5}  {:>10}  {:>11}  {:>9}  {}\n", "input", "peak, dBFS", "noise, dBFS", "room, dB", "remarks");
    for (int c = 1; c <= inputs; ++c) {
        const auto state = capture::channel_state((*meters)->recent(c, options.seconds), info.rate_hz);
        const double highest = highest_dbfs[static_cast<std::size_t>(c - 1)];
        std::string remarks = state.dead ? "nothing at all: no cable, or another input" : state.clipped ? "clipped" : "";
        if (state.hum_hz) remarks += fmt::format("{}hum at {:.0f} Hz, {:.0f} dBFS", remarks.empty() ? "" : "; ", *state.hum_hz, state.hum_dbfs);
        console.out() << fmt::format("{:>5}  {:>10}  {:>11}  {:>9}  {}\n", c, level(highest), level(state.noise_dbfs),
                                     highest > level_of_silence_dbfs ? fmt::format("{:.0f}", std::max(0.0, -highest)) : "", remarks);
    }
    return lost ? console.tell(*lost) : status_done;
}

}  // namespace

void add_devices_command(CLI::App& app, Console& console, Action& action) {
    auto options = std::make_shared<Options>();
    CLI::App* command = app.add_subcommand("devices", "Audio devices of this machine, by the names that take understands");
    command->add_flag("--json", options->json, "for programs");
    command->add_option("--listen", options->listen, "the inputs of this device: peak, noise, headroom, hum; nothing is played");
    command->add_option("--inputs", options->inputs, "how many of its inputs; all without it")->check(CLI::Range(1, 64));
    command->add_option("--seconds", options->seconds, "how long to listen")->capture_default_str()->check(CLI::Range(0.5, 3600.0));
    command->add_flag("--verbose", options->verbose, "show what the audio libraries print");
    command->footer("Example: proofwalk devices --listen \"USB Audio\" --inputs 4");
    command->callback([=, &console, &action] {
        action = [=, &console] {
            const int status = options->listen.empty() ? list(console, options->json) : listen(console, *options);
            if (options->verbose) console.note("What the audio libraries printed:\n" + capture::device_chatter());
            return status;
        };
    });
}

}  // namespace proofwalk::cli
