#include <CLI/CLI.hpp>
#include <fmt/format.h>
#include <memory>

#include "cli/commands.hpp"
#include "walk/recheck.hpp"

namespace proofwalk::cli {

void add_recheck_command(CLI::App& app, Console& console, Action& action) {
    auto log_file = std::make_shared<std::string>();
    CLI::App* command = app.add_subcommand("recheck", "Compute every verdict again from stored evidence; say which differ");
    command->add_option("LOG", *log_file, "the show's log")->required();
    command->footer("Example: proofwalk recheck show.db");
    command->callback([=, &console, &action] {
        action = [=, &console] {
            const auto show = walk::open_show(*log_file, log::Mode::read);
            if (!show) return console.tell(show.error());
            const auto result = walk::recheck(*show);
            if (!result) return console.tell(result.error());
            for (const auto& difference : result->differences) console.out() << difference << '\n';
            console.out() << fmt::format("{} readings and {} verdicts computed again, {} differ\n", result->readings,
                                         result->verdicts, result->differences.size());
            return result->differences.empty() ? status_done : status_failed;
        };
    });
}

}  // namespace proofwalk::cli
