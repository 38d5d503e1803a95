// What stands beside the verdicts: notes, attached files, the past of a check.
#include <CLI/CLI.hpp>
#include <fmt/format.h>
#include <memory>

#include "cli/commands.hpp"
#include "walk/remarks.hpp"

namespace proofwalk::cli {
namespace {

struct Options {
    std::string log, file, about, who, text, check, subject;
    bool incident = false, json = false;
};

int note(Console& console, const Options& options) {
    auto show = walk::open_show(options.log, log::Mode::write);
    if (!show) return console.tell(show.error());
    const auto done = walk::note(*show, options.about, options.who, options.text, options.incident);
    if (!done) return console.tell(done.error());
    console.out() << fmt::format("noted {} about {}: {} ({})\n", options.incident ? "an incident" : "a remark",
                                 options.about.empty() ? "show" : options.about, options.text, options.who);
    return status_done;
}

int attach(Console& console, const Options& options) {
    auto show = walk::open_show(options.log, log::Mode::write);
    if (!show) return console.tell(show.error());
    const auto attached = walk::attach(*show, options.file, options.about, options.who, options.text);
    if (!attached) return console.tell(attached.error());
    console.out() << fmt::format("attached {} to {}, {} bytes, kept as {}\n", attached->name, attached->subject, attached->bytes,
                                 attached->stored_as);
    return status_done;
}

int history(Console& console, const Options& options) {
    const auto show = walk::open_show(options.log, log::Mode::read);
    if (!show) return console.tell(show.error());
    const auto document = walk::history(*show, options.check, options.subject);
    if (!document) return console.tell(document.error());
    console.out() << (options.json ? report::document_json(*document) : report::document_text(*document, console.style()));
    return status_done;
}

}  // namespace

void add_note_command(CLI::App& app, Console& console, Action& action) {
    auto options = std::make_shared<Options>();
    CLI::App* command = app.add_subcommand("note", "A remark, or an incident during the show, with its time");
    command->add_option("LOG", options->log, "the show's log")->required();
    command->add_option("--who", options->who, "who notes it")->required();
    command->add_option("--text", options->text, "what is noted")->required();
    command->add_option("--about", options->about, "\"box M1\", \"position p3\", \"take t01\"; without it the show");
    command->add_flag("--incident", options->incident, "it happened just now, during the show");
    command->footer("Example: proofwalk note show.db --who \"R. Walker\" --about \"box M1\" --text \"went silent\" --incident");
    command->callback([=, &console, &action] { action = [=, &console] { return note(console, *options); }; });
}

void add_attach_command(CLI::App& app, Console& console, Action& action) {
    auto options = std::make_shared<Options>();
    CLI::App* command = app.add_subcommand("attach", "A photo or a document about something, kept beside the log");
    command->add_option("LOG", options->log, "the show's log")->required();
    command->add_option("FILE", options->file, "the photo or document; it is copied")->required();
    command->add_option("--about", options->about, "\"box M1\", \"position p3\", \"take t01\", \"show\"")->required();
    command->add_option("--who", options->who, "who attaches it")->required();
    command->add_option("--text", options->text, "what it shows");
    command->footer("Example: proofwalk attach show.db shackle.jpg --about \"box M1\" --who \"R. Walker\"");
    command->callback([=, &console, &action] { action = [=, &console] { return attach(console, *options); }; });
}

void add_history_command(CLI::App& app, Console& console, Action& action) {
    auto options = std::make_shared<Options>();
    CLI::App* command = app.add_subcommand("history", "How a check was judged over time, with its skips");
    command->add_option("LOG", options->log, "the show's log")->required();
    command->add_option("CHECK", options->check, "sounding, polarity, response, level, arrival, aim-h, ...")->required();
    command->add_option("SUBJECT", options->subject, "box, pair A+B or circuit")->required();
    command->add_flag("--json", options->json, "for programs");
    command->footer("Example: proofwalk history show.db polarity M1");
    command->callback([=, &console, &action] { action = [=, &console] { return history(console, *options); }; });
}

}  // namespace proofwalk::cli
