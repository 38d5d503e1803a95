#include <CLI/CLI.hpp>
#include <memory>

#include "cli/commands.hpp"
#include "walk/log_care.hpp"

namespace proofwalk::cli {
namespace {

struct Options {
    std::string log, into, who;
    bool json = false, strict = false;
};

int recover(Console& console, const Options& options) {
    const auto outcome = walk::recover_log(options.log, options.into, options.who);
    if (!outcome) return console.tell(outcome.error());
    console.out() << (options.json ? report::document_json(outcome->document)
                                   : report::document_text(outcome->document, console.style()));
    return options.strict && !outcome->sound ? status_not_passed : status_done;
}

}  // namespace

void add_recover_command(CLI::App& app, Console& console, Action& action) {
    auto options = std::make_shared<Options>();
    CLI::App* command = app.add_subcommand("recover", "Everything that a damaged log still holds, in a new log; the rest is named");
    command->add_option("LOG", options->log, "the damaged log; it is only read")->required();
    command->add_option("--into", options->into, "the new log")->required();
    command->add_option("--who", options->who, "who does it");
    command->add_flag("--json", options->json, "for programs");
    command->add_flag("--strict", options->strict, "exit status 1 when something is lost");
    command->footer("Example: proofwalk recover damaged.db --into show.db --who \"R. Walker\"");
    command->callback([=, &console, &action] { action = [=, &console] { return recover(console, *options); }; });
}

}  // namespace proofwalk::cli
