#include <CLI/CLI.hpp>
#include <memory>

#include "cli/commands.hpp"
#include "walk/likelihoods.hpp"
#include "walk/log_care.hpp"

namespace proofwalk::cli {
namespace {

struct Options {
    std::vector<std::string> logs;
    std::string likelihoods;
    bool json = false;
};

int review(Console& console, const Options& options) {
    const std::vector<std::filesystem::path> logs(options.logs.begin(), options.logs.end());
    const auto outcome = walk::review_logs(logs);
    if (!options.likelihoods.empty()) {
        const std::string text = walk::likelihoods_text(walk::route::Odds{}, walk::earlier_shows(logs));
        if (const auto written = walk::write_likelihoods(options.likelihoods, text); !written) return console.tell(written.error());
    }
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
    command->add_option("--likelihoods", options->likelihoods, "write how likely each kind of check fails, as these logs say, to this file: `next --likelihoods` reads it");
    command->add_flag("--json", options->json, "for programs");
    command->footer("Example: proofwalk review tour/*.db");
    command->callback([=, &console, &action] { action = [=, &console] { return review(console, *options); }; });
}

}  // namespace proofwalk::cli
