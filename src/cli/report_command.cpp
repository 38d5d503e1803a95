#include <CLI/CLI.hpp>
#include <memory>

#include "cli/commands.hpp"
#include "walk/written_report.hpp"

namespace proofwalk::cli {
namespace {

struct Options {
    std::string log, folder, reader = "engineer";
    bool data = false;
};

int write(Console& console, const Options& options) {
    const auto show = walk::open_show(options.log, log::Mode::read);
    if (!show) return console.tell(show.error());
    const auto file = walk::write_report(*show, options.folder, *report::reader_from_word(options.reader));
    if (!file) return console.tell(file.error());
    console.out() << "report " << file->string() << '\n';
    if (!options.data) return status_done;
    const auto data = walk::write_data(*show, options.folder);
    if (!data) return console.tell(data.error());
    for (const auto& one : *data) console.out() << "data " << one.string() << '\n';
    return status_done;
}

}  // namespace

void add_report_command(CLI::App& app, Console& console, Action& action) {
    auto options = std::make_shared<Options>();
    CLI::App* command = app.add_subcommand("report", "One page with everything: summary, drawings, a sheet for each box");
    command->add_option("LOG", options->log, "the show's log")->required();
    command->add_option("--out", options->folder, "folder for index.html; made when there is none")->required();
    command
        ->add_option("--for", options->reader,
                     "engineer: everything; lead: one page with counts, exceptions and a block to sign; review: what was "
                     "skipped, repeated and changed")
        ->capture_default_str()
        ->check(CLI::IsMember({"engineer", "lead", "review"}));
    command->add_flag("--data", options->data, "everything shown, as JSON and CSV beside the page");
    command->footer("Example: proofwalk report show.db --out report --for lead");
    command->callback([=, &console, &action] { action = [=, &console] { return write(console, *options); }; });
}

}  // namespace proofwalk::cli
