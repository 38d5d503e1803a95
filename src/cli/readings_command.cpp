#include <CLI/CLI.hpp>
#include <memory>

#include "cli/commands.hpp"
#include "walk/judged.hpp"

namespace proofwalk::cli {

void add_readings_command(CLI::App& app, Console& console, Action& action) {
    struct Options {
        std::string log;
        bool json = false;
    };
    auto options = std::make_shared<Options>();
    CLI::App* command = app.add_subcommand("readings", "What was measured, before any judgement");
    command->add_option("LOG", options->log, "the show's log")->required();
    command->add_flag("--json", options->json, "for programs");
    command->footer("Example: proofwalk readings show.db --json");
    command->callback([=, &console, &action] {
        action = [=, &console] {
            const auto show = walk::open_show(options->log, log::Mode::read);
            if (!show) return console.tell(show.error());
            const auto rows = walk::readings(*show);
            if (!rows) return console.tell(rows.error());
            console.out() << (options->json ? report::readings_json(*rows) : report::readings_text(*rows, console.style()));
            return status_done;
        };
    });
}

}  // namespace proofwalk::cli
