// Every command adds itself to the command line and sets `action` to what runs when it was chosen.
#pragma once

#include <functional>

#include "cli/console.hpp"

namespace CLI {
class App;
}

namespace proofwalk::cli {

using Action = std::function<int()>;

void add_plan_command(CLI::App& app, Console& console, Action& action);
void add_rehearse_command(CLI::App& app, Console& console, Action& action);
void add_ingest_command(CLI::App& app, Console& console, Action& action);
void add_devices_command(CLI::App& app, Console& console, Action& action);
void add_take_command(CLI::App& app, Console& console, Action& action);
void add_tally_command(CLI::App& app, Console& console, Action& action);
void add_readings_command(CLI::App& app, Console& console, Action& action);
void add_skip_command(CLI::App& app, Console& console, Action& action);
void add_change_command(CLI::App& app, Console& console, Action& action);
void add_sign_command(CLI::App& app, Console& console, Action& action);
void add_report_command(CLI::App& app, Console& console, Action& action);
void add_recheck_command(CLI::App& app, Console& console, Action& action);

// The whole program: parses, runs, gives the exit status.
int run(int argc, const char* const* argv, Console& console);

}  // namespace proofwalk::cli
