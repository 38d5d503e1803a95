#include <CLI/CLI.hpp>
#include <memory>

#include "cli/commands.hpp"
#include "cli/logged.hpp"
#include "walk/judged.hpp"

namespace proofwalk::cli {
namespace {

struct Options {
    std::vector<std::string> inputs;  // PLAN TAKES, or TAKES alone once the log holds a plan
    std::string log;
};

int ingest(Console& console, const Options& options) {
    auto show = options.inputs.size() == 2 ? walk::open_show(options.inputs[0], options.log)
                                           : walk::open_show(options.log, log::Mode::write);
    if (!show) return console.tell(show.error());
    for (const auto& warning : show->plan.warnings) console.note("warning: " + warning);
    const auto faults = walk::ingest(*show, options.inputs.back(), print_logged(console));
    if (!faults) return console.tell(faults.error());
    const auto tally = walk::tally(*show);
    if (!tally) return console.tell(tally.error());
    const int status = console.tell(*faults);
    console.note(counts_line(tally->counts()) + "; see: proofwalk tally " + options.log);
    return status;
}

}  // namespace

void add_ingest_command(CLI::App& app, Console& console, Action& action) {
    auto options = std::make_shared<Options>();
    CLI::App* command = app.add_subcommand("ingest", "Verify recorded takes and keep them in the log");
    command->add_option("INPUTS", options->inputs, "PLAN TAKES; PLAN may be left out once LOG holds one")
        ->required()
        ->expected(1, 2);
    command->add_option("--log", options->log, "the show's log; made when there is none")->required();
    command->footer("Example: proofwalk ingest hall.toml site/takes.toml --log show.db");
    command->callback([=, &console, &action] { action = [=, &console] { return ingest(console, *options); }; });
}

}  // namespace proofwalk::cli
