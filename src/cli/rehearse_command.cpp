#include <CLI/CLI.hpp>
#include <memory>

#include "cli/commands.hpp"
#include "cli/logged.hpp"
#include "plan/read.hpp"
#include "walk/judged.hpp"
#include "walk/rehearse.hpp"

namespace proofwalk::cli {
namespace {

struct Options {
    std::string plan, log;
    std::vector<std::string> faults;
    walk::RehearsalOptions rehearsal;
    bool reveal = false;
};

void reveal(Console& console, const std::vector<rehearsal::Hung>& hung) {
    console.out() << "What really hung there:\n";
    for (const auto& box : hung)
        console.out() << fmt::format(
            "  {:<8} at {:7.2f} {:7.2f} {:6.2f} m, pan {:+7.2f}, tilt {:+7.2f} deg, {:+6.2f} dB, {:7.2f} ms{}{}{}\n", box.box,
            box.pose.at.x, box.pose.at.y, box.pose.at.z, box.pose.pan_deg, box.pose.tilt_deg, box.gain_db, box.delay_ms,
            box.inverted ? ", inverted" : "", box.dead.empty() ? "" : ", dead: " + box.dead,
            box.fed_by.empty() ? "" : ", fed by " + box.fed_by);
}

int rehearse(Console& console, const Options& options) {
    // A fault that is no fault begins no log.
    const auto read = plan::load(options.plan);
    if (!read) return console.tell(read.error());
    walk::RehearsalOptions rehearsal = options.rehearsal;
    Faults faults;
    for (const auto& text : options.faults) {
        auto fault = rehearsal::fault_from_text(text, read->plan);
        if (fault)
            rehearsal.room.faults.push_back(*fault);
        else
            faults.push_back(fault.error());
    }
    if (!faults.empty()) return console.tell(faults);
    auto show = walk::open_show(options.plan, options.log);
    if (!show) return console.tell(show.error());
    const auto hung = walk::rehearse(*show, rehearsal, print_logged(console));
    if (!hung) return console.tell(hung.error());
    const auto tally = walk::tally(*show);
    if (!tally) return console.tell(tally.error());
    if (options.reveal) reveal(console, *hung);
    console.note(counts_line(tally->counts()) + "; see: proofwalk tally " + options.log);
    return status_done;
}

}  // namespace

void add_rehearse_command(CLI::App& app, Console& console, Action& action) {
    auto options = std::make_shared<Options>();
    CLI::App* command = app.add_subcommand("rehearse", "The same walk in a simulated room, with faults that you plant");
    command->add_option("PLAN", options->plan, "the plan, a TOML file")->required();
    command->add_option("--log", options->log, "the log to write; made when there is none")->required();
    command->add_option("--seed", options->rehearsal.room.seed, "another seed, another night: hanging spread, mics, noise")
        ->capture_default_str();
    command
        ->add_option("--fault", options->faults,
                     "SUBJECT:KIND[:AMOUNT], again for more. Kinds: aim-h, aim-v, splay (deg), spacing (m), delay (ms), gain "
                     "(dB), polarity, dead-high, dead-low, silent, swap (the other circuit)")
        ->expected(1)
        ->multi_option_policy(CLI::MultiOptionPolicy::TakeAll);
    command->add_option("--snr", options->rehearsal.room.snr_db, "signal-to-noise ratio at the mics, dB")->capture_default_str();
    command->add_option("--mics", options->rehearsal.mics, "mics carried in one round")
        ->capture_default_str()
        ->check(CLI::Range(1, 31));
    command->add_option("--length", options->rehearsal.sweep_s, "sweep length, seconds")
        ->capture_default_str()
        ->check(CLI::Range(0.5, 60.0));
    command->add_flag("--reveal", options->reveal, "say at the end what really hung there");
    command->footer("Example: proofwalk rehearse hall.toml --log practice.db --fault M1:aim-v:-5 --fault FF1:swap:FF2");
    command->callback([=, &console, &action] { action = [=, &console] { return rehearse(console, *options); }; });
}

}  // namespace proofwalk::cli
