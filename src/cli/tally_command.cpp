#include <CLI/CLI.hpp>
#include <memory>

#include "cli/commands.hpp"
#include "walk/checklist.hpp"
#include "walk/judged.hpp"
#include "walk/live_take.hpp"

namespace proofwalk::cli {
namespace {

struct Options {
    std::string log;
    walk::CheckFilter filter;
    bool json = false, strict = false;
};

int tally(Console& console, const Options& options) {
    const auto show = walk::open_show(options.log, log::Mode::read);
    if (!show) return console.tell(show.error());
    const auto tally = walk::tally(*show);
    if (!tally) return console.tell(tally.error());
    const auto shown = walk::filtered(show->plan.plan, *tally, options.filter);
    if (!shown) return console.tell(shown.error());
    console.out() << (options.json ? report::tally_json(*shown) : report::tally_text(*shown, console.style()));
    if (!options.json && walk::asks_to_rig(shown->checks)) console.note(walk::rigging_caution());
    const verify::Counts counts = shown->counts();
    const bool all_pass = counts.fail + counts.unsure + counts.open + counts.skipped == 0;
    return options.strict && !all_pass ? status_not_passed : status_done;
}

}  // namespace

void add_tally_command(CLI::App& app, Console& console, Action& action) {
    auto options = std::make_shared<Options>();
    CLI::App* command = app.add_subcommand("tally", "Every check with its verdict, what failed and what to do");
    command->add_option("LOG", options->log, "the show's log")->required();
    command->add_flag("--json", options->json, "for programs");
    command->add_flag("--strict", options->strict, "exit status 1 unless every check shown passes");
    command->add_option("--only", options->filter.verdicts, "these verdicts: pass, fail, unsure, open, skipped")->delimiter(',');
    command->add_option("--box", options->filter.box, "what concerns this box");
    command->add_option("--array", options->filter.array, "what concerns this array");
    command->add_option("--area", options->filter.area, "what is measured on this audience area");
    command->footer("Example: proofwalk tally show.db --strict\n         proofwalk tally show.db --only open,fail --array mains");
    command->callback([=, &console, &action] { action = [=, &console] { return tally(console, *options); }; });
}

}  // namespace proofwalk::cli
