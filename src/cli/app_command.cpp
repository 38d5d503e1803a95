#include <CLI/CLI.hpp>
#include <memory>

#include "cli/commands.hpp"

namespace proofwalk::cli {

void add_app_command(CLI::App& app, Action& action, const OpenWindow& open_window) {
    struct Options {
        std::string file;
        bool timing = false;
    };
    auto options = std::make_shared<Options>();
    CLI::App* command = app.add_subcommand("app", "The window: the walk, the room, curves, tally and sign-off on one sheet");
    command->add_option("FILE", options->file, "a plan or a log; left out: the last show");
    command->add_flag("--timing", options->timing, "say on standard error what the first frames cost");
    command->footer("Example: proofwalk app show.db\nWithout arguments on a desktop, proofwalk opens the window too.");
    command->callback([=, &action, &open_window] {
        action = [=, &open_window] { return open_window({options->file, options->timing}); };
    });
}

}  // namespace proofwalk::cli
