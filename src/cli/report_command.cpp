#include <CLI/CLI.hpp>
#include <memory>

#include "cli/commands.hpp"
#include "walk/written_report.hpp"

namespace proofwalk::cli {

void add_report_command(CLI::App& app, Console& console, Action& action) {
    struct Options {
        std::string log, folder;
    };
    auto options = std::make_shared<Options>();
    CLI::App* command = app.add_subcommand("report", "One page with everything: summary, drawings, a sheet for each box");
    command->add_option("LOG", options->log, "the show's log")->required();
    command->add_option("--out", options->folder, "folder for index.html; made when there is none")->required();
    command->footer("Example: proofwalk report show.db --out report");
    command->callback([=, &console, &action] {
        action = [=, &console] {
            const auto show = walk::open_show(options->log, log::Mode::read);
            if (!show) return console.tell(show.error());
            const auto file = walk::write_report(*show, options->folder);
            if (!file) return console.tell(file.error());
            console.out() << "report " << file->string() << '\n';
            return status_done;
        };
    });
}

}  // namespace proofwalk::cli
