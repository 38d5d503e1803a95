#include <CLI/CLI.hpp>
#include <iostream>

#include "cli/commands.hpp"
#include "cli/usage_fault.hpp"
#include "walk/show.hpp"

namespace proofwalk::cli {
namespace {

constexpr const char* program_text =
    "Proves a loudspeaker rig against its plan: every box alive, patched, in polarity, level, pointed, splayed, spaced and "
    "timed as planned, with a signed record.";

constexpr const char* first_steps =
    "First steps:\n"
    "  proofwalk plan check PLAN                     is the plan sound?\n"
    "  proofwalk rehearse PLAN --log practice.db     the whole walk in a simulated room\n"
    "  proofwalk ingest PLAN TAKES --log show.db     verify what was recorded on site\n"
    "  proofwalk tally show.db                       what passed, what failed, what to do\n"
    "  proofwalk app show.db                         the same in a window\n"
    "Exit status: 0 done, 1 not everything passed (--strict), 2 bad usage or input, 3 device or log failure.";

}  // namespace

int run(int argc, const char* const* argv, Console& console, const OpenWindow& open_window) {
    CLI::App app{program_text, "proofwalk"};
    app.footer(first_steps);
    app.set_version_flag("--version", walk::tool_name());
    app.require_subcommand(1);
    Action action;
    add_plan_command(app, console, action);
    add_estimate_command(app, console, action);
    add_rehearse_command(app, console, action);
    add_ingest_command(app, console, action);
    add_devices_command(app, console, action);
    add_gear_command(app, console, action);
    add_take_command(app, console, action);
    add_tally_command(app, console, action);
    add_explain_command(app, console, action);
    add_readings_command(app, console, action);
    add_skip_command(app, console, action);
    add_change_command(app, console, action);
    add_sign_command(app, console, action);
    add_report_command(app, console, action);
    add_recheck_command(app, console, action);
    add_audit_command(app, console, action);
    add_merge_command(app, console, action);
    add_recover_command(app, console, action);
    add_review_command(app, console, action);
    add_next_command(app, console, action);
    add_note_command(app, console, action);
    add_attach_command(app, console, action);
    add_history_command(app, console, action);
    if (open_window) add_app_command(app, action, open_window);
    try {
        app.parse(argc, argv);
    } catch (const CLI::ParseError& error) {
        if (error.get_exit_code() == 0) return app.exit(error, console.out(), std::cerr);
        console.tell(usage_fault(app, error));
        return status_bad_input;
    }
    return action ? action() : status_bad_input;
}

}  // namespace proofwalk::cli
