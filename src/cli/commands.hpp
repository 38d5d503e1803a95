// Every command adds itself to the command line and sets `action` to what runs when it was chosen.
#pragma once

#include <functional>
#include <string>

#include "cli/console.hpp"

namespace CLI {
class App;
}

namespace proofwalk::cli {

using Action = std::function<int()>;

// The window program, given by main(): commands and window do not know each other.
struct WindowWish {
    std::string file;  // plan or log; empty: the last show
    bool timing = false;
};
using OpenWindow = std::function<int(const WindowWish&)>;

void add_plan_command(CLI::App& app, Console& console, Action& action);
void add_plan_desk_commands(CLI::App& plan, Console& console, Action& action);  // below "plan"
void add_estimate_command(CLI::App& app, Console& console, Action& action);
void add_rehearse_command(CLI::App& app, Console& console, Action& action);
void add_ingest_command(CLI::App& app, Console& console, Action& action);
void add_devices_command(CLI::App& app, Console& console, Action& action);
void add_gear_command(CLI::App& app, Console& console, Action& action);
void add_take_command(CLI::App& app, Console& console, Action& action);
void add_tally_command(CLI::App& app, Console& console, Action& action);
void add_explain_command(CLI::App& app, Console& console, Action& action);
void add_readings_command(CLI::App& app, Console& console, Action& action);
void add_skip_command(CLI::App& app, Console& console, Action& action);
void add_change_command(CLI::App& app, Console& console, Action& action);
void add_sign_command(CLI::App& app, Console& console, Action& action);
void add_report_command(CLI::App& app, Console& console, Action& action);
void add_recheck_command(CLI::App& app, Console& console, Action& action);
void add_audit_command(CLI::App& app, Console& console, Action& action);
void add_merge_command(CLI::App& app, Console& console, Action& action);
void add_recover_command(CLI::App& app, Console& console, Action& action);
void add_review_command(CLI::App& app, Console& console, Action& action);
void add_next_command(CLI::App& app, Console& console, Action& action);
void add_note_command(CLI::App& app, Console& console, Action& action);
void add_attach_command(CLI::App& app, Console& console, Action& action);
void add_history_command(CLI::App& app, Console& console, Action& action);
void add_app_command(CLI::App& app, Action& action, const OpenWindow& open_window);

// The whole program: parses, runs, gives the exit status.
int run(int argc, const char* const* argv, Console& console, const OpenWindow& open_window = {});

}  // namespace proofwalk::cli
