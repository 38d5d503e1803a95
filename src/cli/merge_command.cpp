#include <CLI/CLI.hpp>
#include <memory>

#include "cli/commands.hpp"
#include "walk/log_care.hpp"

namespace proofwalk::cli {
namespace {

struct Options {
    std::vector<std::string> logs;
    std::string into;
    bool json = false, strict = false;
};

int merge(Console& console, const Options& options) {
    const auto outcome = walk::merge_logs({options.logs.begin(), options.logs.end()}, options.into);
    if (!outcome) return console.tell(outcome.error());
    console.out() << (options.json ? report::document_json(outcome->document)
                                   : report::document_text(outcome->document, console.style()));
    return options.strict && !outcome->sound ? status_not_passed : status_done;
}

}  // namespace

void add_merge_command(CLI::App& app, Console& console, Action& action) {
    auto options = std::make_shared<Options>();
    CLI::App* command = app.add_subcommand("merge", "One log from several: every record once, in whichever order they are named");
    command->add_option("LOGS", options->logs, "two logs or more")->required()->expected(2, -1);
    command->add_option("--into", options->into, "the new log")->required();
    command->add_flag("--json", options->json, "for programs");
    command->add_flag("--strict", options->strict, "exit status 1 when the logs differ somewhere or a file is missing");
    command->footer("Example: proofwalk merge left.db right.db --into show.db");
    command->callback([=, &console, &action] { action = [=, &console] { return merge(console, *options); }; });
}

}  // namespace proofwalk::cli
