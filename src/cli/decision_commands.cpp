// What people decide: skip, change, sign.
#include <CLI/CLI.hpp>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <memory>

#include "cli/commands.hpp"
#include "walk/decisions.hpp"
#include "walk/live_take.hpp"

namespace proofwalk::cli {
namespace {

struct Options {
    std::string log, check, subject, who, text, role;
    std::vector<std::string> exceptions, scope;
    bool take_up = false;
};

int skip(Console& console, const Options& options) {
    auto show = walk::open_show(options.log, log::Mode::write);
    if (!show) return console.tell(show.error());
    if (options.take_up) {
        const auto done = walk::take_up(*show, options.check, options.subject, options.who);
        if (!done) return console.tell(done.error());
        console.out() << fmt::format("taken up again: {} of {} ({})\n", options.check, options.subject, options.who);
        return status_done;
    }
    const auto done = walk::skip(*show, options.check, options.subject, options.who, options.text);
    if (!done) return console.tell(done.error());
    console.out() << fmt::format("skipped {} of {}: {} ({})\n", options.check, options.subject, walk::skip_reason(options.text), options.who);
    return status_done;
}

int change(Console& console, const Options& options) {
    auto show = walk::open_show(options.log, log::Mode::write);
    if (!show) return console.tell(show.error());
    console.note(walk::rigging_caution());
    const auto open = walk::change(*show, options.subject, options.who, options.text);
    if (!open) return console.tell(open.error());
    console.out() << fmt::format("changed {}: {} ({}); {} checks are open now\n", options.subject, options.text, options.who, *open);
    return status_done;
}

int sign(Console& console, const Options& options) {
    auto show = walk::open_show(options.log, log::Mode::write);
    if (!show) return console.tell(show.error());
    const auto signed_off = walk::sign(*show, {options.who, options.role, options.exceptions, options.scope});
    if (!signed_off) return console.tell(signed_off.error());
    console.out() << fmt::format("signed by {} as {}, for {}, {} exceptions, plan revision {}, hash {}\n", options.who, options.role,
                                 options.scope.empty() ? "the whole plan" : fmt::format("{}", fmt::join(options.scope, ", ")),
                                 options.exceptions.size(), signed_off->plan_revision, signed_off->hash);
    return status_done;
}

}  // namespace

void add_skip_command(CLI::App& app, Console& console, Action& action) {
    auto options = std::make_shared<Options>();
    CLI::App* command = app.add_subcommand("skip", "Leave a check out on purpose: who and why stay in the record");
    command->add_option("LOG", options->log, "the show's log")->required();
    command->add_option("CHECK", options->check, "sounding, polarity, response, level, arrival, aim-h, ...")->required();
    command->add_option("SUBJECT", options->subject, "box, pair A+B or circuit")->required();
    command->add_option("--who", options->who, "who decides it")->required();
    std::string words;
    for (const walk::SkipReason& reason : walk::usual_skip_reasons()) words += fmt::format("\n  {:<10} {}", reason.word, reason.says);
    command->add_option("--why", options->text, "the reason, in your words or one of the short ones below");
    command->add_flag("--take-up", options->take_up, "take a skipped check up again: it is asked as it was measured last")->excludes("--why");
    command->footer("Short reasons for --why:" + words + "\nExample: proofwalk skip show.db aim-v D2 --who \"R. Walker\" --why \"gallery is closed\"");
    command->callback([=, &console, &action] { action = [=, &console] { return skip(console, *options); }; });
}

void add_change_command(CLI::App& app, Console& console, Action& action) {
    auto options = std::make_shared<Options>();
    CLI::App* command =
        app.add_subcommand("change", "Something was moved, re-tilted, repatched or repaired: its takes retire, its checks reopen");
    command->add_option("LOG", options->log, "the show's log")->required();
    command->add_option("SUBJECT", options->subject, "box, pair A+B, circuit, array or position")->required();
    command->add_option("--who", options->who, "who changed it")->required();
    command->add_option("--what", options->text, "what was done")->required();
    command->footer("Example: proofwalk change show.db M1 --who \"R. Walker\" --what \"tilted up 4 deg\"");
    command->callback([=, &console, &action] { action = [=, &console] { return change(console, *options); }; });
}

void add_sign_command(CLI::App& app, Console& console, Action& action) {
    auto options = std::make_shared<Options>();
    CLI::App* command = app.add_subcommand("sign", "Sign the tally; everything that is no pass must be accepted by name");
    command->add_option("LOG", options->log, "the show's log")->required();
    command->add_option("--who", options->who, "who signs")->required();
    command->add_option("--role", options->role, "in which role")->required();
    command->add_option("--except", options->exceptions, "CHECK:SUBJECT that is no pass and is accepted")
        ->expected(1, -1);
    command->add_option("--for", options->scope, "boxes or arrays that are signed; without it the whole plan")->expected(1, -1);
    command->footer("Example: proofwalk sign show.db --who \"R. Walker\" --role \"crew lead\" --except aim-v:D2");
    command->callback([=, &console, &action] { action = [=, &console] { return sign(console, *options); }; });
}

}  // namespace proofwalk::cli
