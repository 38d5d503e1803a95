#include <CLI/CLI.hpp>
#include <memory>

#include "cli/commands.hpp"
#include "walk/log_care.hpp"

namespace proofwalk::cli {
namespace {

struct Options {
    std::string log, against;
    bool json = false, without_recordings = false;
};

int audit(Console& console, const Options& options) {
    const auto outcome = walk::audit_log(options.log, options.against, !options.without_recordings);
    if (!outcome) return console.tell(outcome.error());
    console.out() << (options.json ? report::document_json(outcome->document)
                                   : report::document_text(outcome->document, console.style()));
    return outcome->sound ? status_done : status_failed;
}

}  // namespace

void add_audit_command(CLI::App& app, Console& console, Action& action) {
    auto options = std::make_shared<Options>();
    CLI::App* command = app.add_subcommand("audit", "Is the log still what was written? Names the first record that is not");
    command->add_option("LOG", options->log, "the show's log")->required();
    command->add_option("--against", options->against, "hash from a sign-off: also finds a log cut short or written anew");
    command->add_flag("--without-recordings", options->without_recordings, "do not read the raw recordings and attachments");
    command->add_flag("--json", options->json, "for programs");
    command->footer("Example: proofwalk audit show.db --against 3f9c2a77\nExit status 3 when something does not fit.");
    command->callback([=, &console, &action] { action = [=, &console] { return audit(console, *options); }; });
}

}  // namespace proofwalk::cli
