#include <CLI/CLI.hpp>
#include <memory>

#include "cli/commands.hpp"
#include "walk/log_care.hpp"

namespace proofwalk::cli {
namespace {

struct Options {
    std::vector<std::string> logs;
    bool json = false;
};

int review(Console& console, const Options& options) {
    const auto outcome = walk::review_logs({options.logs.begin(), options.logs.end()});
    console.out() << (options.json ? report::document_json(outcome.document)
                                   : report::document_text(outcome.document, console.style()));
    return outcome.faults.empty() ? status_done : console.tell(outcome.faults);
}

}  // namespace

void add_review_command(CLI::App& app, Console& console, Action& action) {
    auto options = std::make_shared<Options>();
    CLI::App* command =
        app.add_subcommand("review", "One show or a tour: what was left out, what drifts, what comes back, where the time went");
    command->add_option("LOGS", options->logs, "one log or many")->required()->expected(1, -1);
    command->add_flag("--json", options->json, "for programs");
    command->footer("Example: proofwalk review tour/*.db");
    command->callback([=, &console, &action] { action = [=, &console] { return review(console, *options); }; });
}

}  // namespace proofwalk::cli
