#include <CLI/CLI.hpp>
#include <memory>

#include "cli/commands.hpp"
#include "report/gear_list.hpp"
#include "walk/gear.hpp"

namespace proofwalk::cli {
namespace {

struct Options {
    std::string log, who;
    std::vector<std::string> certificates;
    bool json = false;
};

int prove(Console& console, const Options& options) {
    std::vector<walk::CertificateNote> certificates;
    Faults faults;
    for (const auto& text : options.certificates) {
        auto certificate = walk::certificate_from_text(text);
        if (certificate)
            certificates.push_back(*certificate);
        else
            faults.push_back(certificate.error());
    }
    if (!faults.empty()) return console.tell(faults);
    auto show = walk::open_show(options.log, log::Mode::write);
    if (!show) return console.tell(show.error());
    const auto checks = walk::prove_gear(*show, certificates, options.who);
    if (!checks) return console.tell(checks.error());
    console.out() << (options.json ? report::gear_json(*checks) : report::gear_text(*checks, console.style()));
    if (const auto fault = verify::gear_fault(*checks))
        console.note("while this stands nothing passes: " + *fault);
    return status_done;
}

}  // namespace

void add_gear_command(CLI::App& app, Console& console, Action& action) {
    auto options = std::make_shared<Options>();
    CLI::App* command = app.add_subcommand("gear", "Prove the measuring chain from its loopback, match and calibrator takes");
    command->add_option("LOG", options->log, "the show's log")->required();
    command->add_option("--who", options->who, "who proves it");
    command->add_option("--certificate", options->certificates, "SUBJECT=DATE until which a mic's or calibrator's certificate is valid")
        ->expected(1)
        ->multi_option_policy(CLI::MultiOptionPolicy::TakeAll);
    command->add_flag("--json", options->json, "for programs");
    command->footer("Example: proofwalk gear show.db --who \"R. Walker\" --certificate \"m1 0417=2027-03-01\"");
    command->callback([=, &console, &action] { action = [=, &console] { return prove(console, *options); }; });
}

}  // namespace proofwalk::cli
